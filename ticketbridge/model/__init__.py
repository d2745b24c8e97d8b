"""PURE: the nouns of the shop. Frozen; no files, no clock, no database.

Units are in the names: mm, um (micrometre), g_m2, ml, s. Values that come from outside are pydantic
models, which refuse unknown keys and nonsense; results that we compute are frozen dataclasses.
"""
