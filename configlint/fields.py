"""The base of all models of files, and how a document's values become one.

`validate` collects every fault of a value with its true place. A faulty value is
taken out as if it had not been written and the rest is read, so that one mistake
never hides another, nor keeps the rules from what is sound.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from typing import Annotated, Any, ClassVar, Literal, TypeVar, get_args, get_origin

from pydantic import (
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ValidationError,
    ValidatorFunctionWrapHandler,
)
from pydantic.fields import FieldInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, ErrorDetails, core_schema

from configlint.amounts import AmountOrText, Count, Measured, Number, UnitSpelling
from configlint.documents import Document
from configlint.errors import Fault, Path
from configlint.scalars import (
    Choice,
    Day,
    Scalar,
    Size,
    Text,
    Truth,
    offer,
    shown,
    text_error,
)

__all__ = [
    "NOT_USED",
    "AmountOrText",
    "Choice",
    "Count",
    "Day",
    "Measured",
    "Model",
    "NotUsed",
    "Number",
    "Scalar",
    "Size",
    "Text",
    "Truth",
    "UnitSpelling",
    "Usable",
    "dotted",
    "is_list",
    "is_mapping",
    "may_be_unused",
    "model_in",
    "scalar_in",
    "validate",
]

M = TypeVar("M", bound="Model")
T = TypeVar("T")


def _take_lists(schema: Any) -> None:
    """Let tuples take lists, down to the sections, which have seen to theirs."""
    if isinstance(schema, list):
        for part in schema:
            _take_lists(part)
    elif isinstance(schema, dict) and schema.get("type") != "model":
        if schema.get("type") == "tuple":
            schema["strict"] = False
        for part in schema.values():
            _take_lists(part)


def _flat(described: JsonSchemaValue) -> JsonSchemaValue:
    """Write "this or empty" as one description; an empty key needs no default."""
    rest = {key: each for key, each in described.items() if key != "anyOf"}
    if "default" in rest and rest["default"] is None:
        del rest["default"]
    first, *others = described.get("anyOf", ({},))
    if others != [{"type": "null"}] or "type" not in first:
        return rest | ({"anyOf": described["anyOf"]} if others else {})
    kinds = first["type"] if isinstance(first["type"], list) else [first["type"]]
    choices = {"enum": [*first["enum"], None]} if "enum" in first else {}
    return {**first, "type": [*kinds, "null"], **choices, **rest}


class Model(BaseModel):
    """A section of a file: frozen, strict, and closed to unknown keys."""

    # Built when first used, since no run needs all of the models.
    model_config = ConfigDict(
        frozen=True, strict=True, extra="forbid", defer_build=True
    )

    missing_kind: ClassVar[str] = "value-well-formed"
    """The reading rule that a missing required key breaks."""

    @classmethod
    def __get_pydantic_core_schema__(
        cls, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Take a document's list where a model holds a tuple."""
        schema = handler(source)
        _take_lists(schema.get("schema"))
        return schema

    @classmethod
    def __get_pydantic_json_schema__(
        cls, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """Describe each key in one place, so that an editor shows all of it."""
        described = handler(schema)
        properties = handler.resolve_ref_schema(described)["properties"]
        for name, each in properties.items():
            properties[name] = _flat(each)
        return described


NotUsed = Literal["not used"]
"""What is written in place of a section that the meter does without."""

NOT_USED: NotUsed = "not used"


class _MayBeUnused:
    """Marks a section in whose place the words `not used` may stand."""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        section = handler.generate_schema(get_args(source)[0])
        return core_schema.no_info_wrap_validator_function(_section, section)

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        unused = {"const": NOT_USED, "description": "This part is not used."}
        return {"anyOf": [handler(schema), unused, {"type": "null"}]}


def _section(value: object, handler: ValidatorFunctionWrapHandler) -> object:
    if value is None or value == NOT_USED:
        return value
    if not isinstance(value, dict):
        advice = f"Write a section, or the words '{NOT_USED}'."
        raise text_error("value-well-formed", "", advice)
    return handler(value)


Usable = Annotated[T | NotUsed | None, _MayBeUnused()]
"""A section that may be absent, or said to be not used."""

_WRITTEN = object()
_GONE = object()


def validate(
    model: type[M], document: Document, path: Path = (), value: object = _WRITTEN
) -> tuple[M | None, tuple[Fault, ...]]:
    """Read the value at a path as a model, with all faults of it by their places.

    `value` replaces what the document holds there. The model is None only when
    a key that it can't do without is missing or faulty.
    """
    if value is _WRITTEN:
        value = document.value
        for step in path:
            value = dict(_steps(value)).get(step)
    try:
        return model.model_validate(value), ()
    except ValidationError as error:
        reporter = _Reporter(model, document, path)
        faults = [reporter.fault(each) for each in error.errors(include_url=False)]
        return _sound_part(model, value, error), tuple(
            sorted(faults, key=lambda fault: fault.place)
        )


def _sound_part(model: type[M], value: object, error: ValidationError) -> M | None:
    while True:
        value = _pruned(value, (_fault_path(each) for each in error.errors()))
        if value is _GONE:
            return None
        try:
            return model.model_validate(value)
        except ValidationError as another:
            error = another


def _fault_path(error: ErrorDetails) -> Path:
    """What has to go: the faulty value, or the section that lacks a key."""
    return error["loc"][:-1] if error["type"] == "missing" else error["loc"]


def _pruned(value: object, drops: Iterable[Path]) -> object:
    """Copy a value without some paths, as far down as they are written."""
    below: dict[str | int, list[Path]] = {}
    steps = dict(_steps(value))
    for drop in drops:
        if not drop or drop[0] not in steps:
            return _GONE
        below.setdefault(drop[0], []).append(drop[1:])
    for step, rest in below.items():
        steps[step] = _pruned(steps[step], rest)
    kept = {step: each for step, each in steps.items() if each is not _GONE}
    return kept if isinstance(value, dict) else list(kept.values())


def _steps(value: object) -> Iterable[tuple[str | int, object]]:
    if isinstance(value, dict):
        return value.items()
    return enumerate(value) if isinstance(value, list) else ()


def _is_missing(error: ErrorDetails) -> bool:
    """Whether a required key is missing; written empty, it is missing too."""
    return bool(error["loc"]) and (error["type"] == "missing" or error["input"] is None)


_SHAPES = {
    "model_type": "a section",
    "dict_type": "a section",
    "tuple_type": "a list",
    "string_type": "a text",
}


class _Reporter:
    """Makes faults of pydantic's errors about one value."""

    def __init__(self, model: type[Model], document: Document, path: Path) -> None:
        self.model = model
        self.document = document
        self.path = path

    def fault(self, error: ErrorDetails) -> Fault:
        path = (*self.path, *error["loc"])
        if error["type"] == "extra_forbidden":
            return self.unknown_key(error["loc"], path)
        if _is_missing(error):
            return self.missing(error["loc"], path)
        kind, problem, advice = self.words(error)
        name = dotted(error["loc"] or path) or "the document"
        place = self.document.place(path)
        source = self.document.source_place(path)
        return Fault(kind, place, f"{name}: {problem}", advice, path, source)

    def words(self, error: ErrorDetails) -> tuple[str, str, str]:
        written = _described(error["input"])
        shape = _SHAPES.get(error["type"])
        if shape is not None:
            return "value-well-formed", f"{written} stands here.", f"Write {shape}."
        context = error.get("ctx", {})
        if "advice" in context:
            problem = context["problem"] or f"{written} stands here."
            return error["type"], problem, context["advice"]
        return "value-well-formed", f"{written}: {error['msg']}.", "Correct it."

    def missing(self, loc: Path, path: Path) -> Fault:
        holder = _holder(_annotation(self.model, loc[:-1]))
        problem = f"{dotted(loc)} is not written."
        advice = f"Write {loc[-1]}, which is required."
        place = self.document.key_place(path)
        return Fault(holder.missing_kind, place, problem, advice, path)

    def unknown_key(self, loc: Path, path: Path) -> Fault:
        holder = _holder(_annotation(self.model, loc[:-1]))
        key = str(loc[-1])
        where = f"of {dotted(loc[:-1])}" if len(loc) > 1 else "here"
        homes = _homes(self.model).get(key)
        advice = (
            f"Write it under {' or '.join(homes)}, if that is meant."
            if homes
            else offer(key, _keys(holder))
        )
        place = self.document.key_place(path)
        problem = f"{shown(key)} is no key {where}."
        return Fault("key-known", place, problem, advice, path)


def _described(value: object) -> str:
    if isinstance(value, str):
        return shown(value)
    shapes = ((dict, "a section"), (list, "a list"))
    names = (name for shape, name in shapes if isinstance(value, shape))
    return next(names, "nothing")


def dotted(loc: Path) -> str:
    """Write a path as the rules do: `process.flow.normal`, `meters[2].sensor`."""
    text = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in loc)
    return text.removeprefix(".")


def _keys(model: type[Model]) -> tuple[str, ...]:
    """The keys of a section as a file writes them."""
    fields = model.model_fields.items()
    return tuple(field.alias or name for name, field in fields)


@cache
def _homes(model: type[Model]) -> dict[str, tuple[str, ...]]:
    """The sections of a model that hold a key, by the key."""
    homes: dict[str, tuple[str, ...]] = {}
    for path in _section_paths(model, ()):
        for key in _keys(path[1]):
            homes[key] = (*homes.get(key, ()), dotted(path[0]))
    return homes


def _section_paths(
    model: type[Model], path: Path
) -> Iterator[tuple[Path, type[Model]]]:
    for name, field in model.model_fields.items():
        inner = model_in(field.annotation)
        if inner is not None:
            below = (*path, field.alias or name)
            yield below, inner
            yield from _section_paths(inner, below)


def model_in(annotation: Any) -> type[Model] | None:
    """The model that an annotation such as `Sensor | None` speaks of."""
    if isinstance(annotation, type) and issubclass(annotation, Model):
        return annotation
    inner = (model_in(part) for part in get_args(annotation))
    return next((model for model in inner if model is not None), None)


def scalar_in(field: FieldInfo) -> Scalar | None:
    """The mark of a field that holds a scalar, such as `Text()`."""
    marks = (*field.metadata, *_marks(field.annotation))
    return next((mark for mark in marks if isinstance(mark, Scalar)), None)


def _marks(annotation: Any) -> Iterator[object]:
    yield from getattr(annotation, "__metadata__", ())
    for part in get_args(annotation):
        yield from _marks(part)


def may_be_unused(field: FieldInfo) -> bool:
    """Whether the words `not used` may stand in place of a section."""
    return NotUsed in get_args(field.annotation)


def is_mapping(field: FieldInfo) -> bool:
    """Whether a field holds values under names that the model does not know."""
    return _is_of(dict, field)


def is_list(field: FieldInfo) -> bool:
    """Whether a field holds any number of values in a row."""
    return _is_of(tuple, field)


def _is_of(holder: type, field: FieldInfo) -> bool:
    parts = (field.annotation, *get_args(field.annotation))
    return any(get_origin(part) is holder for part in parts)


def _holder(annotation: Any) -> type[Model]:
    """The model whose key is meant; for a mapping or a list, the base of all."""
    parts = (annotation, *get_args(annotation))
    if get_origin(annotation) in (dict, tuple):
        parts = ()
    models = (
        part for part in parts if isinstance(part, type) and issubclass(part, Model)
    )
    return next(models, Model)


def _annotation(annotation: Any, loc: Path) -> Any:
    """Follow a path through annotations, to what its value is declared as."""
    for step in loc:
        annotation = _step(annotation, step)
    return annotation


def _step(annotation: Any, step: str | int) -> Any:
    if isinstance(annotation, type) and issubclass(annotation, Model):
        fields = annotation.model_fields.items()
        found = (f.annotation for name, f in fields if step in (f.alias or name,))
        return next(found, None)
    if get_origin(annotation) in (dict, tuple):
        return get_args(annotation)[-1 if get_origin(annotation) is dict else 0]
    inner = (_step(part, step) for part in get_args(annotation))
    return next((part for part in inner if part is not None), None)
