"""Property tests judge what is right, not how fast: a busy machine must not fail them."""

from hypothesis import settings

settings.register_profile("no deadline", deadline=None)
settings.load_profile("no deadline")
