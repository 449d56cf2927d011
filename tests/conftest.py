"""For every test: hypothesis repeats the same examples and is not timed, since the machine may be slow."""

from hypothesis import settings

settings.register_profile("house", deadline=None, derandomize=True)
settings.load_profile("house")
