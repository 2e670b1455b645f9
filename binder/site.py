"""Builds the course as a static site: JupyterLab and Python in the learner's browser, no server.

    python binder/site.py FOLDER [--runtime FOLDER] [--trainee]

FOLDER then holds all that the browser needs and asks no other address for anything. It wants the
extra ``site``. Python for the browser is the Pyodide distribution, taken from its own addresses or
from a folder that holds its files (`CORE`, and those that ``pyodide-lock.json`` names); every file
is compared with its checksum. All pure Python comes as wheels in the versions of
``requirements.txt`` and goes into that lock, so that a notebook imports it without installing.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import re
import shutil
import subprocess
import sys
import tempfile
import urllib.request
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

from jupyter_core.paths import jupyter_path
from packaging.utils import canonicalize_name
from pyodide_lock import PyodideLockSpec
from pyodide_lock.utils import add_wheels_to_spec

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))  # this checkout, whatever is installed

from sealkit.classroom.panel.live import SCRIPT  # noqa: E402
from sealkit.course import unpack  # noqa: E402

VERSION = "0.27.7"  # of Pyodide: the kernel of JupyterLite 0.6 is made for 0.27
COMPILED = f"https://cdn.jsdelivr.net/pyodide/v{VERSION}/full/"
PACKAGE = f"https://cdn.jsdelivr.net/npm/pyodide@{VERSION}/"
CORE = {  # SHA-256 as in the package of that name and version
    "pyodide.js": "b4cb23a53aba19c221659b9fb40a2f18281d685691dc06647fb0afd0681baf98",
    "pyodide.asm.js": "6b4c90de5b7172873f04f21884d0e9d2274e305fe32116558fe3e4fbe3618d51",
    "pyodide.asm.wasm": "a50dd1843f805a0b7c45b61037ee0d7b26dfe85efe0e18ef95a34ad24e401f5f",
    "python_stdlib.zip": "16611534726e5d8ac2bd8f926410b2dcb8d6f49aa24913463533b457a2115c16",
    "pyodide-lock.json": "9c45b916001a750f4102fc287494f3eab215909c7535c626a20db80fd6333e2c",
}
PURE = (  # what sealkit needs beside the compiled packages; a missing one stops the build
    *("plotly", "narwhals", "pint", "flexcache", "flexparser", "platformdirs", "scikit-fem"),
    *("ipywidgets", "jupyterlab-widgets", "widgetsnbextension", "comm", "anywidget", "psygnal"),
    *("tomlkit", "typing-extensions"),
)
# loaded while the kernel starts, side by side: what the kernel asks for, and the course
LOADED = ("micropip", "ssl", "sqlite3", "jedi", "ipython", "comm", "sealkit")
OF_THE_PAGE = re.compile(r"\.data/data/|/(labextension|nbextension|static)/|plotly\.min\.js$")
KERNEL = "@jupyterlite/pyodide-kernel-extension"
FIRST = "notebooks/00-the-whole-joint.ipynb"
NOTE = Path(__file__).with_name("in-the-browser.md")
SETTINGS = ROOT / "sealkit" / "labconfig" / "default_setting_overrides.json"

INDEX = f"""<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>sealkit</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<script id="jupyter-config-data" type="application/json" data-jupyter-lite-root=".">{{}}</script>
<meta http-equiv="refresh" content="0; url=lab/index.html?path={FIRST}"></head>
<body><p><a href="lab/index.html?path={FIRST}">Open lesson 00</a>. JavaScript has to be on; the
first start loads 70 MB and takes up to a minute.</p></body></html>
"""


def taken(name: str, sha256: str, runtime: Path | None, where: str, folder: Path) -> None:
    """Put one file of the runtime into `folder`, if it is the one that is wanted."""
    if runtime is None:
        with urllib.request.urlopen(where + name) as answer:
            data = answer.read()
    elif (runtime / name).is_file():
        data = (runtime / name).read_bytes()
    else:
        raise SystemExit(f"{runtime} does not hold {name} of Pyodide {VERSION}")
    if hashlib.sha256(data).hexdigest() != sha256:
        raise SystemExit(f"{name}: not the file of Pyodide {VERSION} (its checksum is another)")
    (folder / name).write_bytes(data)


def wheels(folder: Path) -> None:
    """The wheel of this checkout, and the pure ones in the versions of the hosted environment."""
    pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    pins = str(ROOT / "binder" / "requirements.txt")
    pure = ["--python-version=3.12", "--implementation=py", "--abi=none", "--platform=any"]
    subprocess.run(
        [*pip, "download", "--no-deps", f"--constraint={pins}", *pure, f"--dest={folder}", *PURE],
        check=True,
    )
    subprocess.run([*pip, "wheel", "--no-deps", f"--wheel-dir={folder}", str(ROOT)], check=True)


def for_the_kernel(wheel: Path, folder: Path) -> Path:
    """A copy of a wheel without what the page has already: front ends, the charts' library."""
    with ZipFile(wheel) as whole, ZipFile(folder / wheel.name, "w", ZIP_DEFLATED) as kept:
        for one in whole.infolist():
            if one.filename == "plotly/package_data/widgetbundle.js":
                kept.writestr(one, SCRIPT)
            elif not OF_THE_PAGE.search(one.filename):
                kept.writestr(one, whole.read(one))
    return folder / wheel.name


def needed(lock: PyodideLockSpec) -> set[str]:
    """The packages that those in `LOADED` ask for, and they themselves."""
    found: set[str] = set()
    waiting = [*LOADED]
    while waiting:
        name = canonicalize_name(waiting.pop())
        if name not in found:
            found.add(name)
            waiting += lock.packages[name].depends
    return found


def fill_runtime(folder: Path, runtime: Path | None, own: list[Path]) -> None:
    """Python for the browser with these wheels in its lock."""
    folder.mkdir(parents=True)
    for name, sha256 in CORE.items():
        taken(name, sha256, runtime, PACKAGE, folder)
    lock_file = folder / "pyodide-lock.json"
    slim = [for_the_kernel(wheel, folder) for wheel in own]
    lock = add_wheels_to_spec(PyodideLockSpec.from_json(lock_file), slim)
    lock.packages = {name: lock.packages[name] for name in needed(lock)}
    for package in lock.packages.values():
        if not (folder / package.file_name).exists():
            taken(package.file_name, package.sha256, runtime, COMPILED, folder)
    lock.to_json(lock_file)


def write(path: Path, settings: dict[str, Any]) -> None:
    path.write_text(json.dumps(settings), encoding="utf-8")


def build(out: Path, runtime: Path | None = None, trainee: bool = False) -> None:
    """The site in `out`, which must not be there yet or be empty."""
    if out.exists() and any(out.iterdir()):
        raise SystemExit(f"{out}: has to be a new folder, or an empty one")
    with tempfile.TemporaryDirectory() as made:
        lite, course = Path(made, "lite"), Path(made, "course")
        wheels(Path(made))
        own = sorted(Path(made).glob("*.whl"))
        fill_runtime(lite / "static" / "pyodide", runtime, own)
        unpack(course, trainee)
        (course / ".course-files.json").unlink()  # of a learner's folder
        shutil.copy(NOTE, course / "notebooks")
        kernel: dict[str, Any] = {
            "disablePyPIFallback": True,
            "loadPyodideOptions": {"packages": LOADED},
        }
        settings = {
            "appName": "sealkit",
            "litePluginSettings": {f"{KERNEL}:kernel": kernel},
            "settingsOverrides": json.loads(SETTINGS.read_text(encoding="utf-8")),
        }
        write(
            lite / "jupyter-lite.json",
            {"jupyter-lite-schema-version": 0, "jupyter-config-data": settings},
        )
        # the widgets' front ends out of the same wheels, the kernel's out of this environment
        places = [Path(place, KERNEL) for place in jupyter_path("labextensions")]
        shown = [next(place for place in places if place.is_dir())]
        shown += [
            w for w in own if w.name.startswith(("plotly", "anywidget", "jupyterlab_widgets"))
        ]
        config = {
            "apps": ["lab"],
            "contents": [str(course)],
            "output_dir": str(out.resolve()),
            "no_sourcemaps": True,
            "no_unused_shared_packages": True,
            "ignore_sys_prefix": ["federated_extensions"],
            "federated_extensions": [str(one) for one in shown],
        }
        write(lite / "jupyter_lite_config.json", {"LiteBuildConfig": config})
        done = subprocess.run(
            [sys.executable, "-m", "jupyterlite_core", "build"],
            cwd=lite,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        if done.returncode:
            raise SystemExit(f"JupyterLite did not build the site:\n{done.stdout[-3000:]}")
    (out / "index.html").write_text(INDEX)


if __name__ == "__main__":
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("folder", type=Path, help="a new or empty folder for the site")
    words.add_argument(
        "--runtime", type=Path, help="folder with the files of Pyodide, for a build without network"
    )
    words.add_argument("--trainee", action="store_true", help="leave out what an instructor keeps")
    given = words.parse_args()
    build(given.folder, given.runtime, given.trainee)
    print(f"the site is in {given.folder}: python3 -m http.server --directory {given.folder}")
