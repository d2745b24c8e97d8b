"""Our own folders: the only code that writes, renames and syncs files, and the names of the places."""
