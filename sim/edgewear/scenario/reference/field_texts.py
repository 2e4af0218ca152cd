"""The texts under the fields of models, read from the source: what reference pages say."""

from __future__ import annotations

import ast
import inspect
import sys
from functools import cache

from pydantic import BaseModel


@cache
def _texts(module: str) -> dict[str, dict[str, str]]:
    """Map each class of a module to the texts under its fields."""
    tree = ast.parse(inspect.getsource(sys.modules[module]))
    return {node.name: _under_fields(node) for node in tree.body if isinstance(node, ast.ClassDef)}


def _under_fields(node: ast.ClassDef) -> dict[str, str]:
    found = {}
    for field, below in zip(node.body, node.body[1:], strict=False):
        if not isinstance(field, ast.AnnAssign) or not isinstance(field.target, ast.Name):
            continue
        if isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant):
            found[field.target.id] = inspect.cleandoc(str(below.value.value))
    return found


def field_texts(model: type[BaseModel]) -> dict[str, str]:
    """Map a model's fields, inherited ones too, to their texts."""
    found: dict[str, str] = {}
    for base in reversed(model.__mro__):
        if base.__module__.startswith("edgewear"):
            found.update(_texts(base.__module__).get(base.__name__, {}))
    return found
