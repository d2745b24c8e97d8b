"""Waiting jobs to their lanes: rolls, gangs, artwork, the ticket, the hand-over."""
