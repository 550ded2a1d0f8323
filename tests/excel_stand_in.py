"""xlwings' own dispatcher and conversion on any system, its Windows modules stubbed.

The dispatcher (``xlwings.udfs``), the conversion layer and the cleaning of cell values
(``xlwings._xlwindows.Engine``) are xlwings' own; only what talks to Windows is a stub. No Excel is
here, so nothing is claimed of Excel itself.
"""

from __future__ import annotations

import ctypes
import datetime as dt
import importlib
import importlib.util
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from types import ModuleType, SimpleNamespace
from typing import Any
from unittest.mock import MagicMock

import xlwings

_WINDOWS = (
    "pythoncom", "pywintypes", "win32api", "win32con", "win32event", "win32gui", "win32process",
    "win32timezone", "win32com", "win32com.client", "win32com.client.gencache",
    "win32com.server", "win32com.server.dispatcher", "win32com.server.policy",
    "win32com.server.util",
)  # fmt: skip
_LOADED = ("xlwings._xlwindows", "xlwings.com_server", "xlwings.udfs")
MODULE = "estimator.live.udfs"
MISSING = -2147352572
"""What the dispatcher gets for an argument that a formula leaves out."""
DIV0, VALUE, SPILL = -2146826281, -2146826273, -2146826243
"""How error cells arrive: #DIV/0!, #VALUE!, and #SPILL!, which xlwings has no text for."""


class Stub(ModuleType):
    """A Windows module of which only names are needed."""

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__"):
            raise AttributeError(name)
        value = MagicMock(name=f"{self.__name__}.{name}")
        setattr(self, name, value)
        return value


def _stub(name: str) -> Stub:
    module = Stub(name)
    module.__path__ = []
    module.__file__ = name
    if name == "pywintypes":
        module.TimeType = dt.datetime
        module.com_error = type("com_error", (Exception,), {})
    if name == "win32com.client":
        for kind in ("CDispatch", "DispatchBaseClass", "CoClassBaseClass"):
            setattr(module, kind, type(kind, (), {}))
    return module


@contextmanager
def _stubs() -> Iterator[None]:
    """The Windows modules as stubs, and what xlwings loaded over them gone afterwards."""
    before = {name: sys.modules.get(name) for name in (*_WINDOWS, *_LOADED)}
    loader = ctypes.PyDLL
    missing = [n for n in ("windll", "oledll") if not hasattr(ctypes, n)]
    sys.modules.update({name: _stub(name) for name in _WINDOWS})
    for name in (*missing, "PyDLL"):
        setattr(ctypes, name, MagicMock())
    # The server starts a thread for its loop; the dispatcher imports only the loop's name.
    server = ModuleType("xlwings.com_server")
    server.loop = None  # type: ignore[attr-defined]
    sys.modules["xlwings.com_server"] = server
    try:
        yield
    finally:
        ctypes.PyDLL = loader  # type: ignore[misc]
        for name in missing:
            delattr(ctypes, name)
        for name, module in before.items():
            sys.modules.pop(name, None)
            if module is not None:
                sys.modules[name] = module


@contextmanager
def windows_engine() -> Iterator[Any]:
    """xlwings' engine for Windows: how it cleans what Excel hands over, and what it sends back."""
    with _stubs():
        yield xlwings.Engine(impl=importlib.import_module("xlwings._xlwindows").engine)


@contextmanager
def excel_functions() -> Iterator[SimpleNamespace]:
    """The live functions as xlwings on Windows loads them: ``module``, and ``call(name, ...)``."""
    with _stubs():
        windows = importlib.import_module("xlwings._xlwindows")
        udfs = importlib.import_module("xlwings.udfs")
        engines = (list(xlwings.engines.engines), dict(xlwings.engines.engines_by_name))
        decorators = {name: getattr(xlwings, name) for name in ("func", "arg", "ret")}
        xlwings.func, xlwings.arg, xlwings.ret = udfs.xlfunc, udfs.xlarg, udfs.xlret
        xlwings.engines.add(xlwings.Engine(impl=windows.engine))
        try:
            spec = importlib.util.find_spec(MODULE)
            assert spec is not None
            assert spec.loader is not None
            module = importlib.util.module_from_spec(spec)
            spec.loader.exec_module(module)
            udfs.udf_modules[MODULE] = {"module": module, "filename": "", "filetime": None}
            caller = SimpleNamespace()

            def call(name: str, *arguments: Any) -> Any:
                return udfs.call_udf(MODULE, name, arguments, None, caller)

            yield SimpleNamespace(module=module, call=call)
        finally:
            xlwings.engines.engines, xlwings.engines.engines_by_name = engines
            for name, value in decorators.items():
                setattr(xlwings, name, value)
