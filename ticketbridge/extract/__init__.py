"""Values out of other people's files: rows of tables, expressions that say where something stands, a limit in time.

Knows nothing of tickets or of the shop's folders. What may never return is done in a child process (``apart``).
"""
