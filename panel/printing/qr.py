"""QR codes as runs of modules: error level M, one mask, the version that the whole kit has.

A fixed mask makes every code of a kit in a sixth of the time of searching the best one, and no
code tells anything by its mask. Decoders read any of the eight masks (ISO/IEC 18004).
"""

from functools import lru_cache

import qrcode
from qrcode.util import MODE_ALPHA_NUM, QRData

from panel.core.drawing import Matrix, Run

MASK = 3


def qr_code(text: str, version: int, x: float, y: float, size: float) -> Matrix:
    """The code of an upper-case alphanumeric text, within `size` millimetres from (x, y).

    version: 2 or 3, from core.paper.payload.qr_version. Raises ValueError if the text has other
    characters or is too long: both are checked long before (`qr_address`, `qr_version`).
    """
    side, runs = _runs(text, version)
    return Matrix(x=x, y=y, size=size, side=side, runs=runs)


@lru_cache(maxsize=8)
def _runs(text: str, version: int) -> tuple[int, tuple[Run, ...]]:
    code = qrcode.QRCode(
        version=version,
        error_correction=qrcode.constants.ERROR_CORRECT_M,
        border=0,
        mask_pattern=MASK,
    )
    code.add_data(QRData(text.encode("ascii"), mode=MODE_ALPHA_NUM, check_data=True))
    code.make(fit=False)
    runs: list[Run] = []
    for row, cells in enumerate(code.modules):
        start = 0
        for column, dark in enumerate([*cells, None]):
            if column and dark != cells[start]:
                if cells[start]:
                    runs.append((start, row, column - start))
                start = column
    return len(code.modules), tuple(runs)
