"""Claimed files to jobs, refusals and repeats, and what may be handed over at once."""
