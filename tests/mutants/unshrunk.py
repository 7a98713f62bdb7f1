"""A plugin of pytest for the runs of mutants: hypothesis looks for no smaller example once it has one."""

from __future__ import annotations

from hypothesis import Phase, settings

settings.register_profile("unshrunk", phases=(Phase.explicit, Phase.generate), database=None)
settings.load_profile("unshrunk")
