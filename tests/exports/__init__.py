"""Invented exports of invented MISs of Harbourlight Graphics: what writes them, and the orders that stand in them."""
