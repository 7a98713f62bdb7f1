"""The small drawings of what a test may show, in three lines of plain characters.

Names are those of the drawings of the sheet. `=` is wood, `_` the face of a film, `/` a scraper.
"""

from __future__ import annotations

MINIATURES: dict[str, str] = {
    "alligator": r"""
[##] [###] [#]
[#] [##] [###]
[###] [#] [##]""",
    "bead": r"""
     .-.
____(   )____
=============""",
    "bloom-ring": r"""
-- .oooo. ----
- o      o ---
-- 'oooo' ----""",
    "brittle-flakes": r"""
  ' . * ' /
 * .' * ./
________/=====""",
    "brush-marks": r"""
~~~~~~~~~~~~~~
~~~~~~~~( )~~~
~~~~~~~~~U~~~~""",
    "checks": r"""
 |  | |   | |
 |--| |---| |
 |  |     | |""",
    "clear-over-clear": r"""
_________
         |____
==============""",
    "clear-over-colour": r"""
_________
XXXXXXXXX|XXXX
==============""",
    "crazing": r"""
_|_/_|_\_|_/_|
/_|_\_|_/_|_\_
_\_|_/_|_\_|_/""",
    "curl": r"""
     (@)  /
      \  /
_______\/=====""",
    "dark-ring": r"""
== .####. ====
= #      # ===
== '####' ====""",
    "dent": r"""
      |
_____ v ______
=====\_/======""",
    "dust": r"""
       .-----.
 . .::|#####|
_______________""",
    "film-in-wood": r"""


==.==.==.==.==""",
    "film-medium": r"""

______________
==============""",
    "film-thick": r"""
______________
______________
==============""",
    "film-thin": r"""

_ __ __ __ __
=V==V==V==V==V""",
    "flaking": r"""
#####/   \####
###  ,    ###/
####\__/######""",
    "gummy-roll": r"""
   ~(@)~@~o~
___/     \____
==============""",
    "hatch-few": r"""
[#][#][#][#]
[#][#][ ][#]
[#][#][#][#]""",
    "hatch-many": r"""
[ ][#][ ][ ]
[#][ ][ ][#]
[ ][ ][#][ ]""",
    "hatch-some": r"""
[#][ ][#][#]
[#][#][ ][#]
[#][#][#][ ]""",
    "orange-peel": r"""
u u u u u u u
 u u u u u u
u u u u u u u""",
    "paint-stack": r"""
XXXXX
-------|
XXXXXXXXX|====""",
    "plain-face": r"""
--------------
--------------
--------------""",
    "powder": r"""
    . . . /
  .::::::/
________/=====""",
    "ribbon": r"""
  ~~~~~~~~~~~
 (        /
__\______/====""",
    "scratch-clear": r"""
-------- / ---
------ / -----
---- / -------""",
    "scratch-white": r"""
------ .//. --
---- .//. ----
-- .//. ------""",
    "shaving": r"""
    (~~)   /
     \_   /
=======\_/=====""",
    "smear": r"""
        .----.
___   ~~|####|
==\______=====""",
    "soak-in": r"""
     | |
     v v
===.::::::.===""",
    "unchanged": r"""

______________
==============""",
    "wrinkle": r"""
     _   _
____/ \_/ \___
==============""",
}


def miniature(name: str) -> list[str]:
    """The drawing called `name`, line by line. Raises KeyError."""
    return MINIATURES[name].split("\n")[1:]
