"""Dataclasses that cost little until they are used.

The ones of the standard library write and compile the text of every method as the class is
made: with 160 classes that took a third of the time of `posy check`. Here the fields are worked
out by ``dataclasses`` as ever (so ``fields``, ``replace``, ``astuple`` and ``match`` work), the
constructor is compiled when the first instance is made, and the other methods are shared."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from operator import attrgetter, ge, gt, le, lt
from reprlib import recursive_repr
from types import MemberDescriptorType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:

    def dataclass(cls=None, /, *, frozen=False, slots=False, eq=True, order=False):
        """As ``dataclasses.dataclass``, of which it knows these options."""
        if cls is None:
            return lambda cls: _lean(cls, frozen, slots, eq, order)
        return _lean(cls, frozen, slots, eq, order)


# What a parameter is set to when a factory is to make its value.
_UNSET = object()


def _lean(cls: type, frozen: bool, slots: bool, eq: bool, order: bool) -> type:
    """``cls`` with its methods."""
    own = set(vars(cls))
    cls.__doc__ = cls.__doc__ or cls.__name__  # else a signature is worked out for it
    # It may set __hash__ to None for an __eq__ of the class's own; that is its rule too.
    hints = vars(cls).get("__annotations__", {})
    cls.__annotations__ = dict.fromkeys(hints)  # else the text of each is searched for ClassVar
    cls = dataclasses.dataclass(init=False, repr=False, eq=False, slots=slots)(cls)
    cls.__annotations__, fields = hints, dataclasses.fields(cls)
    for field in fields:
        field.type = hints.get(field.name, field.type)
    made: dict[str, Any] = {"__init__": _waiting(cls, frozen), "__repr__": _repr(fields)}
    if eq:
        made |= _equality(fields, frozen, own)
    if order:
        made |= _order(fields)
    for name, method in made.items():
        if name not in own:
            setattr(cls, name, method)
    if frozen:
        _freeze(cls, frozenset(field.name for field in fields))
    return cls


def _waiting(cls: type, frozen: bool) -> Callable[..., None]:
    """The constructor until it is first called: then it makes the true one and steps back."""

    def __init__(self: Any, *values: Any, **named: Any) -> None:
        ready = _constructor(cls, frozen)
        cls.__init__ = ready  # type: ignore[misc]
        ready(self, *values, **named)

    return __init__


def _constructor(cls: type, frozen: bool) -> Callable[..., None]:
    """The constructor, written out: one parameter for each field, its default kept by name."""
    names: dict[str, Any] = {"_unset": _UNSET}
    parameters, lines = ["self"], []
    for field in dataclasses.fields(cls):
        name, value = field.name, field.name
        default = ""
        if field.default is not dataclasses.MISSING:
            names[f"_default_{name}"] = field.default
            default, value = f"=_default_{name}", name if field.init else f"_default_{name}"
        elif field.default_factory is not dataclasses.MISSING:
            names[f"_default_{name}"] = field.default_factory
            default, value = "=_unset", f"_default_{name}()"
            if field.init:
                value = f"{value} if {name} is _unset else {name}"
        elif not field.init:
            continue
        if field.init:
            parameters.append(name + default)
        if not frozen:
            lines.append(f"self.{name} = {value}")
        elif isinstance(getattr(cls, name, None), MemberDescriptorType):  # past the guard
            names[f"_set_{name}"] = getattr(cls, name).__set__
            lines.append(f"_set_{name}(self, {value})")
        else:
            lines.append(f'_own["{name}"] = {value}')
    if any(line.startswith("_own[") for line in lines):
        lines.insert(0, "_own = self.__dict__")
    if hasattr(cls, "__post_init__"):
        lines.append("self.__post_init__()")
    text = f"def __init__({', '.join(parameters)}):\n " + "\n ".join(lines or ["pass"])
    exec(text, names)
    made: Callable[..., None] = names["__init__"]
    made.__qualname__ = f"{cls.__qualname__}.__init__"
    return made


def _repr(fields: tuple[Any, ...]) -> Callable[[Any], str]:
    shown = tuple(field.name for field in fields if field.repr)

    @recursive_repr()
    def __repr__(self: Any) -> str:
        parts = ", ".join(f"{name}={getattr(self, name)!r}" for name in shown)
        return f"{type(self).__qualname__}({parts})"

    return __repr__


def _equality(fields: tuple[Any, ...], frozen: bool, own: set[str]) -> dict[str, Any]:
    """Equal when of one class with equal fields; a frozen one has the hash of its fields."""
    values = _values(tuple(field.name for field in fields if field.compare))

    def __eq__(self: Any, other: Any) -> Any:
        return values(self) == values(other) if type(other) is type(self) else NotImplemented

    hashed = [f.name for f in fields if (f.compare if f.hash is None else f.hash)]
    key = _values(tuple(hashed))

    def __hash__(self: Any) -> int:
        return hash(key(self))

    if "__hash__" in own or "__eq__" in own:
        return {"__eq__": __eq__}
    return {"__eq__": __eq__, "__hash__": __hash__ if frozen else None}


def _order(fields: tuple[Any, ...]) -> dict[str, Any]:
    """Ordered as the tuples of their fields are."""
    values = _values(tuple(field.name for field in fields if field.compare))

    def made(compare: Callable[[Any, Any], bool]) -> Callable[[Any, Any], Any]:
        def method(self: Any, other: Any) -> Any:
            alike = type(other) is type(self)
            return compare(values(self), values(other)) if alike else NotImplemented

        return method

    return {"__lt__": made(lt), "__le__": made(le), "__gt__": made(gt), "__ge__": made(ge)}


def _values(names: tuple[str, ...]) -> Callable[[Any], tuple[Any, ...]]:
    """The values of some fields as a tuple."""
    if len(names) > 1:
        return attrgetter(*names)
    return lambda instance: tuple(getattr(instance, name) for name in names)


def _freeze(cls: type, names: frozenset[str]) -> None:
    """Let no field be assigned to."""

    def refuse(self: Any, name: str, *value: Any) -> None:
        if type(self) is cls or name in names:
            raise dataclasses.FrozenInstanceError(f"cannot change field {name!r}")
        beyond: Any = super(cls, self)  # type: ignore[arg-type, misc]
        (beyond.__setattr__ if value else beyond.__delattr__)(name, *value)

    methods: dict[str, Any] = {"__setattr__": refuse, "__delattr__": refuse}
    if "__slots__" in vars(cls):  # pickled by value: assigning is refused on the way back too
        methods |= {"__getstate__": _state, "__setstate__": _set_state}
    for name, method in methods.items():
        setattr(cls, name, method)


def _state(self: Any) -> list[Any]:
    return [getattr(self, field.name) for field in dataclasses.fields(self)]


def _set_state(self: Any, state: list[Any]) -> None:
    for field, value in zip(dataclasses.fields(self), state, strict=True):
        object.__setattr__(self, field.name, value)
