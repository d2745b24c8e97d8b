"""JMF over HTTP: the edge where partners post their messages. What they mean is decided elsewhere."""
