"""What keeps the shop's record whole: rescue at a start, archives, backup and restore, verification."""
