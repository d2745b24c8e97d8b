"""The first refusal loads the schema that explains it, so no example is judged by its time."""

from hypothesis import settings

settings.register_profile("no deadline", deadline=None)
settings.load_profile("no deadline")
