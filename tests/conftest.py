"""Settings shared by every test: how Hypothesis searches here and in CI."""

from __future__ import annotations

import os

from hypothesis import settings

# The first solid in a process pays for loading the CAD library, so a time limit per example says nothing.
settings.register_profile("here", deadline=None)
# CI repeats the same examples each time: a red run there is the change's fault, never the draw's.
settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci" if os.environ.get("CI") else "here")
