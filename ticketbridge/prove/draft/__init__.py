"""A first mapping from sample files of an export: what stands where, what it most likely is, how sure that is.

``survey`` says what a file holds, whatever kind it is; ``tables``, ``trees`` and ``levels`` make surveys; ``words``
and ``names`` read headings, ``values`` reads what stands below them; ``guesses`` decides, ``meanings`` proposes rows of
tables, ``text`` writes it down. No file is opened here, and nothing is guessed that the text does not show.
"""
