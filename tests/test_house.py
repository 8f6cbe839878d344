"""The house rules, held by machine: style, types, import directions, sizes, documents."""

import argparse
import ast
import importlib
import inspect
import os
import pkgutil
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import monitor.mechanics
from monitor.cli import build_parser
from monitor.model import CHANNELS, EVENT_KINDS
from monitor.rig.file import parse_rig
from monitor.rig.table import Table

ROOT = Path(__file__).parent.parent
SCRIPTS = Path(sys.executable).parent
SOURCES = sorted(path for path in (ROOT / "monitor").rglob("*.py") if "_config" not in path.parts)
PURE = (
    "pipeline.py", "interpret", "mechanics", "metrology", "rig", "model.py", "findings.py",
    "units.py",
)  # fmt: skip


def _passes(*command: str) -> None:
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_ruff_is_clean() -> None:
    _passes(sys.executable, "-m", "ruff", "check", "--quiet", ".")


def test_types_are_clean() -> None:
    _passes(sys.executable, "-m", "mypy")


def test_imports_run_only_downwards() -> None:
    name = "lint-imports.exe" if os.name == "nt" else "lint-imports"
    _passes(str(SCRIPTS / name))


@pytest.mark.parametrize("ending", ["*.py", "*.js", "*.css"])
def test_no_file_is_over_400_lines(ending: str) -> None:
    found = [p for folder in ("monitor", "tests") for p in (ROOT / folder).rglob(ending)]
    long = {
        str(p.relative_to(ROOT)): n
        for p in found
        if (n := len(p.read_text(encoding="utf-8").splitlines())) > 400
    }
    assert found or ending != "*.py"
    assert not long


def test_top_level_holds_only_what_belongs_there() -> None:
    if not (ROOT / ".git").exists() or shutil.which("git") is None:
        pytest.skip("not a git checkout")
    listed = subprocess.run(
        ["git", "-c", "safe.directory=*", "ls-files"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert top <= {
        ".ci", ".gitattributes", ".gitignore", "DEVELOPERS.md", "LICENSE", "README.md",
        "config", "monitor", "pyproject.toml", "replay_data", "tests",
    }  # fmt: skip


def _calls(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return {ast.unparse(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}


def test_no_file_is_opened_and_nothing_printed_from_the_pipeline_down() -> None:
    """ruff's banned-api cannot see the builtins, so they are looked for here."""
    pure = [p for p in SOURCES if p.relative_to(ROOT / "monitor").parts[0] in PURE]
    found = {str(p): _calls(p) & {"open", "print", "input", "exec", "eval"} for p in pure}
    assert pure
    assert not {path: calls for path, calls in found.items() if calls}


def _public_formulas() -> list[tuple[str, object]]:
    formulas = []
    for module_info in pkgutil.iter_modules(monitor.mechanics.__path__, "monitor.mechanics."):
        module = importlib.import_module(module_info.name)
        for name, value in vars(module).items():
            if inspect.isfunction(value) and value.__module__ == module.__name__:
                if not name.startswith("_"):
                    formulas.append((f"{module_info.name}.{name}", value))
    return formulas


def _returns_a_figure(function: object) -> bool:
    """Checks of arguments give nothing back, so they need no formula's docstring."""
    return "None" != str(inspect.signature(function).return_annotation)  # type: ignore[arg-type]


def test_each_public_formula_is_documented() -> None:
    missing = {}
    for name, function in _public_formulas():
        if not _returns_a_figure(function):
            continue
        text = inspect.getdoc(function) or ""
        lacks = [part for part in ("Returns\n", "References\n", "Examples\n") if part not in text]
        if inspect.signature(function).parameters and "Parameters\n" not in text:
            lacks.append("Parameters")
        if not re.search(r"\[[^\]\d][^\]]*\]", text):
            lacks.append("units in brackets")
        if lacks:
            missing[name] = lacks
    assert _public_formulas()
    assert not missing


def _documents() -> str:
    return "".join(
        (ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "DEVELOPERS.md")
    )


def _subparsers() -> dict[str, argparse.ArgumentParser]:
    for action in build_parser()._actions:
        if isinstance(action, argparse._SubParsersAction):
            return dict(action.choices)
    raise LookupError("the parser has no commands")


@pytest.mark.parametrize("command", sorted(_subparsers()))
def test_each_command_and_option_is_documented(command: str) -> None:
    text = _documents()
    assert f"hookload {command}" in text
    options = [
        option
        for action in _subparsers()[command]._actions
        for option in action.option_strings
        if option.startswith("--") and option != "--help"
    ]
    assert [option for option in options if option not in text] == []


@pytest.mark.parametrize("name", [*CHANNELS, *EVENT_KINDS])
def test_each_channel_and_event_kind_is_documented(name: str) -> None:
    assert f"`{name}`" in _documents()


def test_each_rig_file_key_is_explained(monkeypatch: pytest.MonkeyPatch) -> None:
    known: set[str] = set()
    close = Table.close

    def noting(table: Table) -> None:
        known.update(table._known)
        close(table)

    monkeypatch.setattr(Table, "close", noting)
    texts = [path.read_text(encoding="utf-8") for path in (ROOT / "config").glob("*.toml")]
    for text in texts:
        parse_rig(text)
    explained = "\n".join([*texts, _documents()])
    assert {"travelling_weight", "lines_strung", "null_values"} <= known
    assert [key for key in sorted(known) if not re.search(rf"\b{key}\b", explained)] == []


def test_documents_name_only_commands_that_exist() -> None:
    known = {*_subparsers(), "--version"}
    named = set(re.findall(r"^(?:\$ )?hookload ([a-z]+)", _documents(), flags=re.MULTILINE))
    assert named <= known


@pytest.mark.parametrize("module", ["pandas", "dash", "plotly", "uvicorn", "scipy", "sqlite3"])
def test_analysis_does_not_load_what_it_does_not_need(module: str) -> None:
    code = (
        "import sys, monitor.cli, monitor.commands.batch, monitor.report.analysis\n"
        f"sys.exit({module!r} in sys.modules)"
    )
    _passes(sys.executable, "-c", code)
