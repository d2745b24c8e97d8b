"""One reader for each kind of file, all of them making the same tickets."""
