"""What a press says of its jobs, applied, up to the returned ticket; and what is asked of it."""
