"""The only module that imports experta, and the guard that it needs.

experta 1.9.4 stands on frozendict 1.2, which looks for `collections.Mapping`; Python
3.10 took that name away. It is lent while frozendict is imported and taken back.
experta also configures the root logger and hides a failed import of its own engine;
both are put right here.
"""

from __future__ import annotations

import collections
import collections.abc
import logging
from typing import Any


def _import_experta() -> Any:
    root = logging.getLogger()
    handlers, level = list(root.handlers), root.level
    lent = not hasattr(collections, "Mapping")
    if lent:
        collections.Mapping = collections.abc.Mapping  # type: ignore[attr-defined]
    try:
        import frozendict  # noqa: F401
    finally:
        if lent:
            del collections.Mapping  # type: ignore[attr-defined]
    import experta

    root.handlers[:] = handlers
    root.setLevel(level)
    if not hasattr(experta, "KnowledgeEngine"):
        raise ImportError("experta was imported without its KnowledgeEngine: one of its dependencies is missing")
    return experta


experta = _import_experta()
