"""Loops over the samples of a cycle, compiled when first called; only this module imports numba.

What was compiled is kept where NUMBA_CACHE_DIR says, else in `__pycache__` beside the sources, else
in the user's cache folder. Where none can be written each process compiles anew.
"""

import hashlib
from collections.abc import Callable
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import ParamSpec, TypeVar

import numba
import numpy as np
from numba.core import caching
from numpy.typing import ArrayLike, NDArray

from pipeline.physics.reason import Floats, Whole

_P = ParamSpec("_P")
_R = TypeVar("_R")
_Number = TypeVar("_Number", np.float64, np.int64)


class _OfAllSources:
    """Compiled anew when its file changes or any module here, in which what it calls may stand."""

    _py_file: str

    def get_source_stamp(self) -> bytes:
        return _digest_of_sources() + hashlib.sha256(Path(self._py_file).read_bytes()).digest()


class Chosen(_OfAllSources, caching.UserProvidedCacheLocator):
    """Where NUMBA_CACHE_DIR says."""


class Beside(_OfAllSources, caching.InTreeCacheLocator):
    """In `__pycache__` beside the sources."""


class OfUser(_OfAllSources, caching.UserWideCacheLocator):
    """In the user's cache folder."""


_LOCATORS = ",".join(f"{__name__}.{one.__name__}" for one in (Chosen, Beside, OfUser))
numba.config.CACHE_LOCATOR_CLASSES = _LOCATORS  # type: ignore[attr-defined]


def compiled(function: Callable[_P, _R]) -> Callable[_P, _R]:
    """The same function in machine code, beside which other threads may run.

    x / 0 is infinite or not a number, as in arrays. No arithmetic is put in another order or drawn
    together, so what is not a number stays so, and a figure is the same on every processor.
    """
    quick = numba.njit(function, nogil=True, error_model="numpy")
    # Raised where there is nowhere to write.
    with suppress(RuntimeError):
        quick.enable_caching()
    return quick


def column(values: ArrayLike) -> Floats:
    """Values as compiled functions take them: each other kind of array would be compiled for."""
    return _read_only(np.ascontiguousarray(values, dtype=np.float64))


def whole_column(values: ArrayLike) -> Whole:
    """The same of whole numbers."""
    return _read_only(np.ascontiguousarray(values, dtype=np.int64))


def _read_only(values: NDArray[_Number]) -> NDArray[_Number]:
    view = values.view()
    view.flags.writeable = False
    return view


@lru_cache
def _digest_of_sources() -> bytes:
    sources = sorted(Path(__file__).parent.glob("*.py"))
    return hashlib.sha256(b"".join(path.read_bytes() for path in sources)).digest()
