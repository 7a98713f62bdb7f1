"""The engine: knowledge, belief, removal, planning. A library without a terminal.

from oldcoat.engine import open_knowledge, read_piece, assess
knowledge = open_knowledge()
print(assess(read_piece(Path("table.yaml"), knowledge), knowledge).surfaces[0].ranking[0])
"""

from .assess import assess
from .examine import Examiner
from .knowledge.store import open_knowledge
from .piece.reader import parse_piece, read_piece
from .problems import BadInput, Problem
from .version import VERSION

__all__ = ["VERSION", "BadInput", "Examiner", "Problem", "assess", "open_knowledge", "parse_piece", "read_piece"]
