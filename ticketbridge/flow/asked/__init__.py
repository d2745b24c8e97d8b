"""What people ask by command: of jobs, rolls, refused tickets and messages that were given up."""
