"""What every section of a scenario file needs: setting, library, accuracies, named things."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel

from edgewear.errors import ScenarioError
from edgewear.scenario.models.places import TOP_KEYS
from edgewear.scenario.models.scenario import Setting
from edgewear.scenario.read import libraries as lib
from edgewear.scenario.read.expand import Expander, Unknown
from edgewear.scenario.read.own_library import check_own
from edgewear.scenario.read.validate import Validator, unknown_key
from edgewear.scenario.text.choices import did_you_mean
from edgewear.scenario.text.quantities import Measured, Quantity
from edgewear.scenario.text.quantity_text import QuantityProblem, read_quantity
from edgewear.scenario.text.tree import Path_, Tree, parse_tree, problems_of, read_tree

M = TypeVar("M", bound=BaseModel)

FORMAT = "1"
"""Version of the scenario format."""

OTHERWISE = {
    "weather": "; here are factors on wear, such as {wet: 1.5}; that an edge is wet is said with "
    "the edge, `state: wet`, and rain during the job is a fault",
}
"""What to say of a section where something else was probably meant."""

SETTINGS: tuple[Setting, ...] = ("industrial", "alpine", "test")


class Sections:
    """Reads one file's sections; problems gather in the tree until somebody asks."""

    def __init__(self, tree: Tree, library_text: str | None = None) -> None:
        """Read what the other sections depend on: setting, library, accuracies.

        Parameters:
            tree: the file as read.
            library_text: the content of the library it names; read from disk if left out.
        """
        self.library_text = library_text
        self.tree = tree
        self.data: dict[str, Any] = tree.data
        self.records: dict[str, Any] = {}
        """Records of ropes as they were when the scenario was read first."""
        self.lacks_steps = False
        """Whether a step of the job could not be built."""
        self._check_top()
        self.setting = self._setting()
        self.library = self._with_techniques(self._library())
        self.context = {
            "accuracy": lib.accuracies(self.library),
            "exact": self.setting == "test",
        }
        self.validator = Validator(self.context, self._report_key)
        self.expander = Expander(self.library, self.report)

    def report(self, path: Path_, message: str) -> None:
        """Note a problem at a value."""
        self.tree.report(path, message)

    def _report_key(self, path: Path_, message: str, key: bool) -> None:
        self.tree.report(path, message, key=key)

    def _check_top(self) -> None:
        for key in self.data:
            if key not in TOP_KEYS:
                self.tree.report((key,), unknown_key(key, TOP_KEYS), key=True)
        for key in ("edgewear", "title", "setting", "options", "job"):
            if key not in self.data:
                self.report((), f"{key!r} is missing")
        version = self.data.get("edgewear", FORMAT)
        if version != FORMAT:
            self.report(("edgewear",), f"format {version!r}: this version reads format {FORMAT}")

    def _setting(self) -> Setting:
        found = self.data.get("setting", "alpine")
        for setting in SETTINGS:
            if found == setting:
                return setting
        hint = did_you_mean(str(found), list(SETTINGS))
        self.report(("setting",), f"{found!r}: allowed are {', '.join(SETTINGS)}{hint}")
        return "alpine"  # nobody is told of a second line that perhaps was not due

    def _library(self) -> lib.Library:
        own = self.data.get("library")
        if own is None and self.library_text is None:
            return lib.built_in()
        own = "records" if own is None else own
        if not isinstance(own, str):
            self.report(("library",), "the path of a file is due")
            return lib.built_in()
        try:
            file = Path(self.tree.file).parent / own
            known = self.library_text
            tree = read_tree(file) if known is None else parse_tree(known, str(file))
            self.library_text = tree.text
            self.records = tree.data.pop(lib.RECORDS, {}) if known is not None else {}
            library = lib.with_own(tree)
            check_own(tree, library)
            if tree.problems:
                raise ScenarioError(problems_of(tree))
            return library
        except ScenarioError as error:
            self.report(("library",), f"{own!r} cannot be used, see its problems")
            self.tree.problems.extend(error.problems)
            return lib.built_in()

    def _with_techniques(self, library: lib.Library) -> lib.Library:
        """Let the file's own numbers of a technique take the place of the library's."""
        known, own = library["techniques"], self.named("techniques")
        changed = {}
        for word, found in own.items():
            path: Path_ = ("techniques", word)
            if word not in known:
                hint = did_you_mean(word, list(known))
                message = f"unknown technique {word!r}: allowed are {', '.join(known)}{hint}"
                self.tree.report(path, message, key=True)
            elif not isinstance(found, dict):
                self.report(path, "keys with values are due, such as {rise: 0.4 m}")
            else:
                changed[word] = {**known[word], **found}
        return {**library, "techniques": {**known, **changed}} if changed else library

    def text(self, key: str) -> str:
        """Read a text at the top."""
        found = self.data.get(key, "")
        if not isinstance(found, str):
            self.report((key,), "a text is due")
            return ""
        return found

    def target(self) -> float | None:
        """Read the target."""
        if "target" not in self.data:
            return None
        target = self.quantity(
            self.data["target"], Quantity("share", low=0.0, high=1.0), ("target",)
        )
        return target.value if target else None

    def quantity(self, found: object, quantity: Quantity, path: Path_) -> Measured | None:
        """Read a quantity that stands on its own; None after a problem."""
        try:
            return read_quantity(found, quantity, self.context)
        except QuantityProblem as problem:
            self.report(path, str(problem))
        return None

    def named(self, key: str) -> dict[str, Any]:
        """Give a section's named things as typed, having checked the names."""
        found = self.data.get(key, {})
        if not isinstance(found, dict):
            self.report((key,), f"names with their values are due{OTHERWISE.get(key, '')}")
            return {}
        for name in found:
            self._check_name(name, (key, name))
        return found

    def _check_name(self, name: str, path: Path_) -> None:
        if not name or any(c in name for c in "/*") or not name.isprintable() or len(name) > 200:
            message = f"{name!r}: a name has 1 to 200 printable characters and no / or *"
            self.tree.report(path, message, key=True)

    def things(
        self, key: str, model: type[M], expand: Callable[[Any, Path_], Any] | None = None
    ) -> dict[str, M]:
        """Read a section of named things."""
        built = {}
        for name, found in self.named(key).items():
            path: Path_ = (key, name)
            thing = self.build(model, found, path, expand)
            if thing is not None:
                built[name] = thing
        return built

    def build(
        self,
        model: type[M],
        found: object,
        path: Path_,
        expand: Callable[[Any, Path_], Any] | None = None,
    ) -> M | None:
        """Build one thing; None after problems, which have been reported."""
        try:
            whole = expand(found, path) if expand else found
        except Unknown:
            return None
        return self.validator.model(model, whole, path)
