"""The border of the package: whatever is handed over, a result or an error that helps comes back.

What is checked says which argument is wrong, and what is allowed. Beyond that an argument of
another kind fails somewhere inside, as a list without ``items`` or a negative number that the core
has no room for. Here that becomes an `InputError` that shows the arguments and names their kinds,
with what happened as its cause.
"""

from __future__ import annotations

import inspect
import re
import reprlib
from collections.abc import Callable
from functools import wraps
from types import ClassMethodDescriptorType, FunctionType, ModuleType
from typing import Any

from flowdoubt._core import FlowdoubtError
from flowdoubt.edge.errors import refuse

# what arguments of another kind lead to
_MISFITS = (*(AttributeError, LookupError, OverflowError, RecursionError, TypeError, ValueError),)


def _shown(value: Any) -> str:
    """Return numbers and text as they are, if short, and of all else the type."""
    if value is None or isinstance(value, (bool, int, float, str, bytes)):
        return reprlib.repr(value)
    return type(value).__name__


def _described(function: Any, name: str) -> str:
    """Return the first line of what the docstring says of a parameter."""
    found = re.search(rf"^{name}\n +(.+)$", inspect.getdoc(function) or "", re.MULTILINE)
    return found[1].rstrip(".,;:") if found else ""


def _misfit(name: str, function: Any, args: Any, kwargs: Any, error: Exception) -> FlowdoubtError:
    found, allowed = "", ""
    try:
        bound = inspect.signature(function).bind_partial(*args, **kwargs)
    except (TypeError, ValueError):
        pass
    else:
        arguments = {key: own for key, own in bound.arguments.items() if key not in ("self", "cls")}
        found = ", ".join(f"{key}={_shown(value)}" for key, value in arguments.items())
        kinds = {key: bound.signature.parameters[key].annotation for key in arguments}
        told = {
            key: _described(function, key) if kind is inspect._empty else kind
            for key, kind in kinds.items()
        }
        allowed = ", ".join(f"{key}: {words}" for key, words in told.items() if words)
    allowed = allowed or f"what help(flowdoubt.{name}) says"
    what = str(error).encode("ascii", "backslashreplace").decode()
    return refuse(
        f"{name}: found {found} ({what}); allowed: {allowed}",
        code="wrong-type",
        field=name,
        value=found,
        allowed=allowed,
    )


def _takes(function: Any, args: Any, kwargs: Any) -> bool:
    try:
        inspect.signature(function).bind(*args, **kwargs)
    except TypeError:
        return False
    except ValueError:
        pass
    return True


def guarded(name: str, function: Callable[..., Any]) -> Callable[..., Any]:
    """Return the function with errors that help."""

    @wraps(function)
    def call(*args: Any, **kwargs: Any) -> Any:
        try:
            return function(*args, **kwargs)
        except FlowdoubtError:
            raise
        except _MISFITS as error:
            if "allowed: " in str(error):
                raise  # our own words, such as those of an index
            if isinstance(error, TypeError) and not _takes(function, args, kwargs):
                raise  # an argument too many or too few, of which Python tells
            raise _misfit(name, function, args, kwargs, error) from error

    return call


def _of_class(method: ClassMethodDescriptorType) -> Callable[..., Any]:
    """Return a class method of the core as a function of the class."""

    @wraps(method)
    def call(cls: type, *args: Any, **kwargs: Any) -> Any:
        return method.__get__(None, cls)(*args, **kwargs)

    return call


def _guard_class(name: str, of: type) -> None:
    for key, own in list(vars(of).items()):
        if key.startswith("_") or isinstance(own, type):
            continue
        path = f"{name}.{key}"
        if isinstance(own, (staticmethod, classmethod)):
            setattr(of, key, type(own)(guarded(path, own.__func__)))
        elif isinstance(own, ClassMethodDescriptorType):
            setattr(of, key, classmethod(guarded(path, _of_class(own))))
        elif isinstance(own, FunctionType) or inspect.ismethoddescriptor(own):
            setattr(of, key, guarded(path, own))


# what is guarded, under whichever names it is public
_GUARDED: dict[Any, Any] = {}


def guard(module: ModuleType) -> None:
    """Guard the functions and classes that a module is open with, and show no others."""
    public = sorted(module.__all__)
    vars(module)["__dir__"] = lambda: public
    prefix = module.__name__.removeprefix("flowdoubt").removeprefix(".")
    for key in module.__all__:
        # what is imported when it is asked for is guarded then
        own = vars(module).get(key)
        if isinstance(own, type) and not issubclass(own, Exception):
            for base in own.__mro__:
                if base.__module__.partition(".")[0] == "flowdoubt" and base not in _GUARDED:
                    _GUARDED[base] = base
                    _guard_class(base.__name__, base)
        elif isinstance(own, FunctionType) or inspect.isbuiltin(own):
            if own not in _GUARDED:
                made = guarded(f"{prefix}.{key}" if prefix else key, own)
                _GUARDED[own] = _GUARDED[made] = made
            setattr(module, key, _GUARDED[own])
