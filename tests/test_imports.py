"""Imports run one way, and heavy packages stay in the few files that need them.

Read from the source, so that an import that no test runs is seen too.
"""

import ast
import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("fem", "frames")

# package: files that may import it, at any level; a folder stands for all files in it
HEAVY = {
    "pyvista": ["frames/picture/render.py"],
    "vtkmodules": [],
    "matplotlib": [
        "frames/picture/bars.py",
        "frames/picture/curves.py",
        "frames/picture/chart_drawing.py",
        "frames/picture/chart_effects.py",
        "frames/picture/chart_front.py",
        "frames/picture/chart_indices.py",
        "frames/picture/chart_map.py",
        "frames/picture/chart_scatter.py",
        "frames/picture/chart_style.py",
        "frames/picture/chart_tornado.py",
        "frames/picture/colour.py",
        "frames/picture/painter.py",
        "frames/picture/pen.py",
        "frames/picture/sheet.py",
        "frames/picture/words.py",
    ],
    "PIL": ["frames/picture/drawing.py"],
    "meshio": [],
    "pydantic": ["frames/casefile", "frames/drafting", "frames/studyfile"],
    "typer": ["frames/commandline"],
    "rich": ["frames/commandline"],
    "pyarrow": [
        "frames/studyrun/columns.py",
        "frames/studyrun/exporting.py",
        "frames/studyrun/layout.py",
        "frames/studyrun/reading.py",
    ],
    "dask": ["frames/studyrun/cluster.py"],
    "distributed": ["frames/studyrun/cluster.py"],
}


@dataclass(frozen=True)
class Import:
    """``module`` imports ``target``, dotted; lazy inside a function."""

    module: str
    target: str
    lazy: bool
    line: int


def modules(root: Path) -> dict[str, Path]:
    """Dotted name of every module below ``root`` in the two packages, and its file."""
    found = {}
    for package in PACKAGES:
        for path in sorted((root / package).rglob("*.py")):
            parts = path.relative_to(root).with_suffix("").parts
            name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
            found[name] = path
    return found


def imports(root: Path) -> list[Import]:
    known = modules(root)
    found = []
    for module, path in known.items():
        tree = ast.parse(path.read_text(encoding="utf-8"), str(path))
        package = module if path.name == "__init__.py" else module.rpartition(".")[0]
        for node, lazy in walk(tree, lazy=False):
            for target in targets(node, package, known):
                found.append(Import(module, target, lazy, node.lineno))
    return found


def walk(node: ast.AST, lazy: bool) -> Iterator[tuple[ast.Import | ast.ImportFrom, bool]]:
    """Import statements below ``node``; those for the type checker alone are left out."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Import | ast.ImportFrom):
            yield child, lazy
        elif isinstance(child, ast.If) and "TYPE_CHECKING" in ast.dump(child.test):
            for otherwise in child.orelse:
                yield from walk(otherwise, lazy)
        else:
            inside = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
            yield from walk(child, lazy or inside)


def targets(node: ast.Import | ast.ImportFrom, package: str, known: dict[str, Path]) -> list[str]:
    """Modules that a statement imports; ``from a import b`` is a.b if that is a module, else a."""
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    base = node.module or ""
    if node.level:
        parts = package.split(".")
        above = ".".join(parts[: len(parts) - node.level + 1])
        base = f"{above}.{base}".rstrip(".")
    names = [f"{base}.{alias.name}" for alias in node.names]
    return [name if name in known else base for name in names]


def cycle(edges: dict[str, set[str]]) -> list[str]:
    """Some way that leads back to its start, or nothing."""
    done: set[str] = set()

    def search(node: str, way: list[str]) -> list[str]:
        if node in way:
            return [*way[way.index(node) :], node]
        if node in done:
            return []
        for following in sorted(edges.get(node, ())):
            if found := search(following, [*way, node]):
                return found
        done.add(node)
        return []

    for start in sorted(edges):
        if found := search(start, []):
            return found
    return []


def graph(found: list[Import], depth: int | None) -> dict[str, set[str]]:
    """Who imports whom on loading, names cut to ``depth`` parts; within the two packages."""

    def cut(name: str) -> str:
        return ".".join(name.split(".")[:depth])

    edges: dict[str, set[str]] = {}
    for each in found:
        ours = each.target.split(".")[0] in PACKAGES
        if ours and not each.lazy and cut(each.module) != cut(each.target):
            edges.setdefault(cut(each.module), set()).add(cut(each.target))
    return edges


def test_kernel_knows_nothing_of_frames():
    wrong = [f"{i.module}:{i.line}" for i in imports(ROOT) if i.module.startswith("fem")
             and i.target.split(".")[0] == "frames"]  # fmt: skip
    assert not wrong, f"fem imports frames in {wrong}"


@pytest.mark.parametrize("depth", [None, 2], ids=["modules", "sub-packages"])
def test_imports_run_one_way(depth):
    found = cycle(graph(imports(ROOT), depth))
    assert not found, " imports ".join(found)


def test_heavy_packages_stay_in_their_files():
    known = modules(ROOT)
    wrong = []
    for each in imports(ROOT):
        package = each.target.split(".")[0]
        path = known[each.module].relative_to(ROOT).as_posix()
        allowed = HEAVY.get(package)
        if allowed is not None and not any(path == a or path.startswith(f"{a}/") for a in allowed):
            wrong.append(f"{path}:{each.line} imports {package}")
    assert not wrong, "; ".join(wrong)


def test_each_folder_with_modules_is_a_package():
    """Else it would be left out when the project is installed."""
    folders = {path.parent for path in modules(ROOT).values()}
    missing = sorted(str(f.relative_to(ROOT)) for f in folders if not (f / "__init__.py").exists())
    assert not missing, f"__init__.py is missing in {missing}"


def loaded_by(statement: str) -> set[str]:
    """Top-level names in sys.modules after ``statement`` in a new process."""
    program = f"{statement}; import json, sys; print(json.dumps(sorted(sys.modules)))"
    child = subprocess.run(
        [sys.executable, "-W", "error", "-c", program],
        cwd=ROOT, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert child.returncode == 0, child.stderr
    return {name.split(".")[0] for name in json.loads(child.stdout)}


def test_kernel_needs_numpy_and_scipy_only():
    forbidden = {*HEAVY, "pandas", "starlette", "frames"}
    assert "fem" in loaded_by("import fem")
    assert not loaded_by("import fem") & forbidden


def test_frames_loads_nothing_to_draw_with():
    forbidden = {"pyvista", "vtkmodules", "matplotlib", "PIL", "meshio", "typer", "rich"}
    assert not loaded_by("import frames, frames.picture") & forbidden


# the reader itself: a tree with each fault must be found out


def tree(root: Path, files: dict[str, str]) -> Path:
    for package in PACKAGES:
        (root / package).mkdir()
        (root / package / "__init__.py").write_text("")
    for name, text in files.items():
        path = root / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text)
    return root


def test_reader_finds_a_cycle_of_modules(tmp_path):
    files = {
        "fem/a.py": "from fem import b\n",
        "fem/b.py": "import fem.c as c\n",
        "fem/c.py": "if True:\n    from .a import thing\n",
    }
    found = cycle(graph(imports(tree(tmp_path, files)), None))
    assert found == ["fem.a", "fem.b", "fem.c", "fem.a"]


def test_reader_finds_a_cycle_of_sub_packages_alone(tmp_path):
    files = {
        "frames/one/__init__.py": "",
        "frames/one/a.py": "from frames.two.a import x\n",
        "frames/one/b.py": "y = 1\n",
        "frames/two/__init__.py": "",
        "frames/two/a.py": "x = 1\n",
        "frames/two/b.py": "from ..one.b import y\n",
    }
    found = imports(tree(tmp_path, files))
    assert not cycle(graph(found, None))
    assert cycle(graph(found, 2)) == ["frames.one", "frames.two", "frames.one"]


def test_reader_allows_what_is_lazy_or_for_types(tmp_path):
    files = {
        "fem/a.py": "from fem import b\n",
        "fem/b.py": (
            "from typing import TYPE_CHECKING\n"
            "if TYPE_CHECKING:\n    from fem.a import T\n"
            "def f():\n    from fem.a import T\n    import frames\n"
        ),
    }
    found = imports(tree(tmp_path, files))
    assert not cycle(graph(found, None))
    assert Import("fem.b", "frames", True, 6) in found, "lazy ones are still seen"
