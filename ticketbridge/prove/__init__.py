"""What an administrator asks of a mapping before it goes live. Reads files and answers; changes nothing.

``draft`` makes a first mapping of sample files, ``trial`` shows what a mapping makes of a file, ``cases`` compares that
with what was expected, ``coverage`` counts the values that no table knows, ``replay`` shows what another mapping would
have made of past tickets.
"""
