"""Commands to queues and queue entries, whoever gives them."""
