"""Messages that ask: what they say, and what is answered. Pure: no store, no configuration, no sockets."""
