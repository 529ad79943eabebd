"""Lazy loading of modules of the package; nothing else defers its own imports.

A question about printed words should not wait for the model of the hand, nor ``orchq rules`` for
the drawing of pages. A module loaded lazily is also imported under ``TYPE_CHECKING``, so that
type and layer checkers see it:

    if TYPE_CHECKING:
        from orchq import advice
    else:
        (advice,) = lazily("orchq", "advice")
"""

from collections.abc import Iterator
from importlib import import_module
from types import ModuleType
from typing import Any


def loaded(module: str) -> ModuleType:
    """Return the module of this name, loaded now."""
    return import_module(module)


def lazily(package: str, *names: str) -> "Iterator[_Module]":
    """Yield proxies for modules of a package, each loaded on the first call of a member."""
    return (_Module(f"{package}.{name}") for name in names)


class _Module:
    """Proxy for a module; its functions and classes can be called, and be methods of a class."""

    def __init__(self, name: str) -> None:
        self._name = name

    def __getattr__(self, name: str) -> "_Later":
        return _Later(self._name, name)


class _Later:
    """Proxy for a function or class of a module."""

    def __init__(self, module: str, name: str) -> None:
        self._module = module
        self._name = name

    def _found(self) -> Any:
        return getattr(loaded(self._module), self._name)

    def __call__(self, *arguments: Any, **options: Any) -> Any:
        return self._found()(*arguments, **options)

    def __get__(self, instance: object, owner: type | None = None) -> Any:
        found = self._found()
        return found if instance is None else found.__get__(instance, owner)
