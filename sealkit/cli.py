"""The command ``sealkit``: a report on a build sheet, builds side by side, the course in
JupyterLab, a blank sheet, job cards for a class, and their gradebook.

Exit codes: 0 the joint holds (or the command did its work), 1 it does not hold or is too close to
call (of a comparison: one of them), 2 bad input, answers of which nobody's could be graded, or
something in a class file that could not be followed, 130 stopped by the keyboard (a file is written
whole or not at all), 141 nobody reads the output any more.
"""

from __future__ import annotations

import argparse
import atexit
import contextlib
import datetime
import functools
import gc
import io
import json
import os
import shutil
import signal
import subprocess
import sys
import threading
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from sealkit import __version__
from sealkit.errors import InputError, fail, short, short_path
from sealkit.resources import beside

if TYPE_CHECKING:
    from sealkit.build import Build

HOLDS, FAILS, BAD_INPUT, STOPPED, CUT_OFF = 0, 1, 2, 130, 141
# the deck map's narrow matrices are no faster on more, and on busy cores threads that wait for each
# other make it many times slower
ONE_THREAD = ("OPENBLAS_NUM_THREADS", "1")


def _parser() -> argparse.ArgumentParser:
    """The commands as ``cli.toml`` has them, each with its function."""
    table = beside(__file__)
    parser = argparse.ArgumentParser(prog="sealkit", **table.pop("sealkit"))
    parser.add_argument("--version", action="version", version=f"sealkit {__version__}")
    commands = parser.add_subparsers(dest="command", required=True)
    for name, rows in table.items():
        told = {key: rows.pop(key) for key in ("help", "epilog") if key in rows}
        command = commands.add_parser(name, **told)
        command.set_defaults(run=globals()[f"_{name}"])
        apart = functools.cache(command.add_mutually_exclusive_group)
        for argument, how in rows.items():
            how = {"help": how} if isinstance(how, str) else how
            where = apart() if how.pop("apart", False) else command
            where.add_argument(argument, **how)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; returns the exit code."""
    given, rest = list(sys.argv[1:] if argv is None else argv), []
    if given[:1] == ["lab"] and "--" in given:
        place = given.index("--")
        given, rest = given[:place], given[place + 1 :]
    args = _parser().parse_args(given)
    args.rest = rest
    gc.set_threshold(100_000)  # a command makes much and throws little of it away
    atexit.register(gc.freeze)  # at its end all of it goes: nothing to look through
    os.environ.setdefault(*ONE_THREAD)  # read by NumPy and SciPy, which come later
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="replace")  # a terminal that knows no µ gets a question mark
    try:
        code: int = args.run(args)
        sys.stdout.flush()
        return code
    except InputError as err:
        print(
            f"sealkit: {len(err.faults)} thing{'s' * (len(err.faults) > 1)} to put right:",
            file=sys.stderr,
        )
        for fault in err.faults:
            print(f"  {fault}", file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:
        _close_output()
        return CUT_OFF
    except KeyboardInterrupt:
        print("sealkit: stopped before it was done", file=sys.stderr)
        return STOPPED
    except OSError as err:
        where = f" {short_path(str(err.filename))}" if err.filename is not None else ""
        print(f"sealkit: cannot go on:{where} {err.strerror or err}", file=sys.stderr)
        _close_output()
        return BAD_INPUT


def _close_output() -> None:
    """Forget what the output could not take, so that nothing more is said about it at the end."""
    with contextlib.suppress(OSError, ValueError), open(os.devnull, "wb") as nowhere:
        os.dup2(nowhere.fileno(), sys.stdout.fileno())


class _Progress:
    """Says on the error output what is worked out, and by `at` how far, once that is not `soon`."""

    soon = 1.0  # seconds

    def __init__(self, what: str) -> None:
        self.what = self.now = what
        self.done = threading.Event()
        self.thread = threading.Thread(target=self._tell, daemon=True)

    def at(self, place: str) -> None:
        """Where the work is now."""
        self.now = f"{self.what}: {place}"

    def _tell(self) -> None:
        told, pause = "", self.soon
        while not self.done.wait(pause):
            now, pause = self.now, 5.0
            if now != told:
                with contextlib.suppress(OSError, ValueError):
                    print(f"working out {now} ...", file=sys.stderr, flush=True)
            told = now

    def __enter__(self) -> _Progress:
        with contextlib.suppress(RuntimeError):  # a browser tab has no threads
            self.thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.done.set()


def _called() -> str:
    """The command as it was called, to be typed again."""
    path = Path(sys.argv[0])
    if path.name == "__main__.py":
        return "python -m sealkit"
    apart = path.stem == "sealkit" and shutil.which("sealkit") != str(path)
    return str(path) if apart else "sealkit"


def _sheet_of(name: str) -> Build:
    """The build of a file, or of that name among the demos."""
    from sealkit import build

    known = name in build.demos() and not Path(name).exists()
    return build.demo(name) if known else build.load(name)


def _report(args: argparse.Namespace) -> int:
    from sealkit import paper, report
    from sealkit.sealing.deck.model import MESH

    name, sheet = args.file, _sheet_of(args.file)
    mapped, joint = sheet.deck is not None, "the joint"
    if sheet.deck is not None:
        fine = sheet.deck.mesh < MESH
        joint += f" and the map of its deck{', on a fine mesh: this may take minutes' * fine}"
    with _Progress(joint) as progress:
        result = report.run(sheet, deck=mapped, told=progress.at)
        code = HOLDS if result.holds else FAILS
        _ = result.warnings  # they read the last of the tables: nothing is told by half
    system = args.units or sheet.system
    paged = not (args.no_page or args.json)
    if not (args.all or args.json):
        print(paper.summary(result, system), flush=True)
    window = args.all or args.json  # which may take longer than all else
    if window or paged:
        what = "other gaskets and the probability of a leak"
        with _Progress(f"{what}{', and the tightening that holds' * window}"):
            printed = paper.paper_of(result)
            _ = window and result.window
    if args.json:
        print(_json(printed.to_dict()))
        return code
    if args.all:
        print(paper.text(printed, system))
    more = f"all of it as text, with the tightening that holds: {_called()} report {name} --all"
    told = [] if args.all else [more]
    if paged:
        where = Path(args.page or f"{Path(name).stem}-report.html")
        _write(where, paper.page(printed, system, args.all))
        told.append(f"page to print, with a sheet for the bench: {where}")
    print("\n".join(["", *told]))
    return code


def _write(path: Path, text: str, name: str = "page", private: bool = False) -> None:
    from sealkit.files import write_whole

    try:
        write_whole(path, text.encode(), private)
    except OSError as err:
        raise fail(name, path, f"a file that can be written ({err.strerror})") from err


def _json(told: object) -> str:
    return json.dumps(told, indent=1, ensure_ascii=False, allow_nan=False)


def _compare(args: argparse.Namespace) -> int:
    from sealkit import paper
    from sealkit.report.comparison import compare

    with _Progress("the builds, one after the other"):
        made = compare([_sheet_of(name) for name in args.file], files=args.file)
        code = HOLDS if all(r.holds for r in made.reports) else FAILS
    system = args.units or made.reports[0].build.system
    if args.json:
        print(_json(made.to_dict()))
    else:
        print(paper.side_by_side(made, system))
    if args.page:
        _write(Path(args.page), paper.compared(made, system))
    return code


def _fit(args: argparse.Namespace) -> int:
    from sealkit import evidence, report
    from sealkit.paper.measured import Fitted
    from sealkit.report.comparison import Comparison
    from sealkit.scatter import carried_over

    sheet, out = _sheet_of(args.file), Path(args.out) if args.out else None
    if out is not None and out.exists():
        raise fail("out", out, "a new file; this one is there and is left alone")
    if out is not None and not out.parent.is_dir():
        raise fail("out", out, f"a file in a folder that is there; {out.parent} is not")
    measured = evidence.gather(sheet, Path(args.file).parent)
    mapped = sheet.deck is not None
    with _Progress("the joint, before and after") as progress:
        before = report.run(sheet, deck=mapped, told=progress.at)
        carried = carried_over(before)
        found = evidence.fit(sheet, measured, carried)
        after = report.run(found.after, deck=mapped, told=progress.at) if measured else before
        following = evidence.what_next(sheet, after.decides, found, carried)
        before = replace(before, build=found.before)  # its numbers, with how well they are known
        both = (before, after) if measured else (before,)
        made = Comparison(both, (args.file, args.out or "fitted"))
        code = HOLDS if not measured or (after.holds and not found.doubt) else FAILS
        system = args.units or sheet.system
        fitted = Fitted(found, made, following)
        told = _json(fitted.to_dict()) if args.json else fitted.text(system)
        page = fitted.page(system) if args.page else ""
    print(told)
    if args.page:
        _write(Path(args.page), page)
    if out is not None:
        none = f"no readings yet: {out} is not written"
        said = f"fitted sheet: {found.after.save(out)}" if measured else none
        print(f"\n{said}", file=sys.stderr if args.json else sys.stdout)
    return code


def lab_environment() -> dict[str, str]:
    """The environment of the course's server and kernels.

    The command ``sealkit`` is found in a terminal of JupyterLab, which asks for no news
    (``labconfig/``).
    """

    def before(name: str, place: Path) -> str:
        return os.pathsep.join(filter(None, (str(place), os.environ.get(name))))

    own = {
        "PATH": before("PATH", Path(sys.executable).parent),
        "JUPYTER_CONFIG_PATH": before("JUPYTER_CONFIG_PATH", Path(__file__).parent),
    }
    return dict([ONE_THREAD]) | os.environ | own


def _lab(args: argparse.Namespace) -> int:
    from sealkit.course import have_lab, unpack

    try:
        folder = Path(args.folder or "sealkit-course").expanduser()
    except RuntimeError as err:  # ~somebody who has no home here
        raise fail("folder", Path(args.folder), f"a folder that can be written ({err})") from err
    done = unpack(folder, args.trainee)
    print(f"your copy of the course is in {folder}: {len(done.written)} files written")
    for name in done.kept:
        print(f"  kept your changed {name}; delete it to get the new one")
    if args.unpack_only:
        return HOLDS
    if not have_lab():
        raise fail("JupyterLab", "not installed", 'pip install "sealkit[lab]"')
    first = next(iter(sorted((folder / "notebooks").glob("00*.ipynb"))), folder)
    command = [sys.executable, "-m", "jupyterlab", f"--ServerApp.root_dir={folder}"]
    command.append(f"--LabApp.default_url=/lab/tree/{first.relative_to(folder).as_posix()}")
    if args.no_browser:
        command.append("--no-browser")
    server = subprocess.Popen([*command, *args.rest], env=lab_environment())
    signal.signal(signal.SIGTERM, lambda *_: server.terminate())
    try:
        return server.wait()
    except KeyboardInterrupt:
        server.terminate()
        server.wait()
        return HOLDS


def _sheet(args: argparse.Namespace) -> int:
    from sealkit import build

    path = Path(args.file)
    if path.exists():
        raise fail("file", path, "a new file; this one is there and is left alone")
    if args.schema:
        text = _json(build.json_schema()) + "\n"
    elif args.report_schema or args.fit_schema:
        from sealkit import paper
        from sealkit.paper import measured
        from sealkit.report.record import schema

        form = schema(measured.TABLE, measured.NAME) if args.fit_schema else schema(paper.TABLE)
        text = _json(form) + "\n"
    else:
        text = build.demo(args.demo).dumps() if args.demo else build.template()
    _write(path, text, "file")
    first = ": change name, note and status in [sheet] first" if args.demo else ""
    print(f"wrote {path}{first}")
    return HOLDS


def _read(path: str, name: str) -> bytes:
    try:
        return Path(path).read_bytes()
    except OSError as err:
        raise fail(name, Path(path), f"a file that can be read ({err.strerror})") from err


def _text(path: str, name: str) -> str:
    try:
        return _read(path, name).decode("utf-8-sig")
    except UnicodeDecodeError as err:
        raise fail(name, Path(path), "a text file in UTF-8") from err


def _class_key(path: Path) -> str:
    """The class key in a file; a new one where there is none."""
    if path.exists():
        return _text(str(path), "key file").strip()
    from sealkit.classroom.homework import cards

    made = cards.new_key()
    _write(path, f"{made}\n", "key file", private=True)
    print(f"made a class key in {path}: keep it, and keep it to yourself")
    return made


def _cards(args: argparse.Namespace) -> int:
    from sealkit.classroom.homework import cards, class_files, class_pages

    if args.set not in cards.set_titles():
        raise fail("set", args.set, f"one of {', '.join(cards.set_titles())}")
    if args.due:
        class_files.due_time(args.due, "due")
    trainees = class_files.roster(class_files.decoded(_read(args.roster, "roster")), args.units)
    folder, secret = Path(args.out or f"cards-{args.set}"), Path(args.key_file)
    there = class_files.kept_key(folder, args.set)
    if not secret.exists() and there:
        wanted = f"the class key that the cards in {folder} were drawn with, or another folder"
        raise fail("class key", f"no file {secret}", f"{wanted} (--out)")
    this_year = str(datetime.date.today().year)
    term = args.term or (there.term if there else this_year)
    due = args.due or (there.due if there else "")
    key = class_files.make_key(_class_key(secret), args.set, trainees, due, term)
    class_files.keep_key(there, key)
    class_files.write_files(folder, class_pages.card_files(key))
    due = f", due {key.due}" if key.due else ""
    print(f"{len(key.cards)} cards of set {args.set} in {folder}{due}:")
    print(f"  cards-{args.set}.html  to print")
    print("  hand-out/  one card file for each trainee")
    print(f"  key-{args.set}.html, key-{args.set}.json  for you only; grade with the second")
    if over := class_files.past(key.due):
        print(f"sealkit: {over}", file=sys.stderr)
    return HOLDS


def _grade(args: argparse.Namespace) -> int:
    from sealkit.classroom.homework import class_files, class_pages, gradebook, policy

    folder = Path(args.folder)
    key = class_files.load_key(_read(args.key, "key file"))
    out = Path(args.out or f"grades-{key.set}")
    target, source = (Path(os.path.realpath(p)) for p in (out, folder))
    if target == source or source in target.parents:
        raise fail("out", out, "a folder outside that of the answers")
    decided = policy.NOTHING
    if args.class_file:
        decided = policy.load(_read(args.class_file, "class file"))
    grades = gradebook.grade(class_files.read_folder(folder), key, args.accept_late, decided)
    made = class_pages.grade_files(grades, args.delimiter)
    if solutions := args.solutions or args.solutions_now:
        made |= class_pages.solution_files(grades, decided, args.solutions_now)
    feedback = [class_pages.feedback_name(c.trainee) for c in key.cards]
    class_files.write_files(out, made, stale=feedback)
    if grades.another_key:
        print(f"sealkit: {grades.another_key}", file=sys.stderr)
    print(f"{len(grades.done)} of {len(grades.results)} trainees graded, in {out}:")
    more = ", solutions/" if solutions else ""
    print(f"  gradebook.csv, files.csv, not-named.csv, class.html, feedback/{more}")
    for f in sorted(grades.files, key=lambda f: f.counted):
        if f.reason:
            print(f"  {'counted' if f.counted else 'NOT COUNTED'}: {short(f.file)}: {f.reason}")
    if grades.silent:
        print(f"  no file: {', '.join(short(c.trainee) for c in grades.silent)}")
    for fault in grades.faults:
        print(f"sealkit: not followed: {fault}", file=sys.stderr)
    if grades.nobody:
        print(f"sealkit: nobody could be graded: {grades.nobody}", file=sys.stderr)
    return BAD_INPUT if grades.nobody or grades.faults else HOLDS


def _book(args: argparse.Namespace) -> int:
    from sealkit.classroom.homework import class_files, term_book

    paths = [Path(f) / "gradebook.csv" for f in args.folders]
    books = [term_book.read(_read(str(p), "gradebook"), str(p)) for p in paths]
    out = Path(args.out)
    text = term_book.add_up(books, args.delimiter)
    class_files.write_files(out.parent, {out.name: text})
    print(f"{len(books)} set{'s' * (len(books) != 1)} added up in {out}")
    return HOLDS


if __name__ == "__main__":
    sys.exit(main())
