"""A small sound shop as text, and reading it with some sheets exchanged."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from kitting.reading import Reading, read_sheets

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

SOUND = {
    "parts": """part,name,unit,maker,single_use
0012,front crankshaft seal,piece,Kelvane,never
1E5,bolt M8x20,piece,,reuse
3-4,washer,piece,,
RTV,sealant,ml,Harl,never
KIT,gasket set,set,Kelvane,
""",
    "sets": "set,part,quantity,fits\nKIT,0012,1,\n",
    "stages": "assembly,stage,after,work_days\nEng,strip,,1\nEng,build,strip,2.5\nBox,fit,,\n",
    "joints": """assembly,stage,joint,kind,joins,count,disturbances,when
Eng,build,front seal,radial_lip_seal_in_bore,crankshaft and cover,,,
Eng,build,cover,flange_liquid_gasket,cover and block,1,2,cooling=water
""",
    "lines": """assembly,stage,joint,role,part,quantity,unit,when,source
Eng,build,front seal,seal,0012,1,,,
Eng,build,cover,clamp,1E5,12,,cooling=water,sheet 4
Eng,build,cover,seal,RTV,15,ml,,
Eng,build,,,Box,1,,,
Box,fit,,,3-4,1,dozen,,
""",
    "options": "assembly,option,choices,default\nEng,cooling,water; air,water\n",
    "suppliers": "supplier,name,currency,cut_off,freight\nAcre,Acre Parts,,9:30,6.5\n",
    "offers": "supplier,part,pack,unit,price,per,lead_days\nAcre,1E5,100,,3.15,100,2\n",
    "builds": "build,assembly,options,start\nB1,Eng,cooling=air,2026-03-09\n",
}


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., Reading]:
    """Return a function that reads the sound shop with sheets exchanged; ``None`` leaves one out.

    ``only=True`` reads nothing but the sheets given.
    """

    def run(*, known=None, kinds=None, limits=None, only=False, **sheets) -> Reading:
        folder = tmp_path / "sheets"
        folder.mkdir(exist_ok=True)
        for old in folder.iterdir():
            old.unlink()
        for name, text in {**({} if only else SOUND), **sheets}.items():
            if text is not None:
                data = text if isinstance(text, bytes) else text.encode("utf-8")
                (folder / f"{name}.csv").write_bytes(data)
        return read_sheets(folder, known, kinds, limits)

    return run


@pytest.fixture
def told(read: Callable[..., Reading]) -> Callable[..., list[str]]:
    """Return a function that reads and returns what is told, as ``level where: message``."""

    def run(**arguments) -> list[str]:
        return [f"{f.level} {f}" for f in read(**arguments).findings]

    return run
