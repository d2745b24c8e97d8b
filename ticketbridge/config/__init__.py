"""The shop folder: read, checked as a whole, every complaint with its line.

    document       one YAML file as plain values, each with its line and column
    files          which files a shop has, and which model each must fit
    explain        what every key means, in words made from the models
    complaints     from pydantic's errors to findings for people
    references     names that must exist elsewhere, names that must not be there twice
    cross_checks   what no single value can say: folders in each other, lanes that overlap, missing ink
    load           all of it together: a frozen ``Shop``, or every complaint at once
    mounts         which file system a folder lies on
    folders        the hot folders: made once by ``init``, proved at every start
    sample         the sample shop that is shipped along
    reference      writes the tables in the two README files from the code

No file of the shop is ever rewritten: it belongs to the administrator.
"""
