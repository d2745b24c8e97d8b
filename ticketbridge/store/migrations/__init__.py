"""How the tables came to be, forward only. Alembic runs these from the package, without an ini file."""
