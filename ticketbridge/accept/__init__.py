"""From outside to a checked ticket: notice, settle, claim, read."""
