"""Parts of the two desks: lines that a screen reader speaks, buttons, lists, uploads."""

from __future__ import annotations

import html
from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from sealkit.classroom.homework import cards
from sealkit.classroom.homework.answer_box import field, said, wide
from sealkit.errors import InputError
from sealkit.units import SYSTEMS


def sets() -> Any:
    """The list of sets."""
    titles = [(f"{k} {v}", k) for k, v in cards.set_titles().items()]
    return field("Set", widgets.Dropdown, options=titles)


def units() -> Any:
    """The list of shop systems."""
    return field("Units", widgets.Dropdown, options=list(SYSTEMS))


def button(words: str, action: Callable[[], str], message: Any) -> Any:
    """A button; what its action says (HTML), or what went wrong, is shown in `message`."""
    made = widgets.Button(description=words, layout=wide())
    made.on_click(lambda _: guarded(action, message))
    return made


def upload(words: str, accept: str, multiple: bool = False) -> Any:
    """A button to open files with; its title, which `lettering` shows, tells what it holds."""
    made = widgets.FileUpload(accept=accept, multiple=multiple, description="", layout=wide())

    def told(_: Any) -> None:
        names = ", ".join(name for name, _ in uploaded(made.value))
        made.tooltip = f"{words}: {names}" if names else words

    made.observe(told, "value")
    told(None)
    return made


def heading(words: str, level: int = 3) -> Any:
    """A heading inside a desk."""
    size = {2: 20, 3: 17}[level]
    return widgets.HTML(
        f'<h{level} style="font-size:{size}px;margin:10px 0 2px">{html.escape(words)}</h{level}>'
    )


def plain(words: str) -> Any:
    """A line of plain words inside a desk."""
    return widgets.HTML(
        f'<p style="font-size:16px;line-height:1.4;margin:0">{html.escape(words)}</p>'
    )


def lettering(name: str) -> Any:
    """Widgets of a desk in the size of the live panel's lettering; tables as on a class page."""
    desk = f".{name}"
    size = widgets.HTML(
        f"<style>{desk}{{--jp-widgets-font-size:15px}}{desk} .scroll{{overflow-x:auto}}"
        f"{desk} h2{{font-size:17px;margin:10px 0 2px}}"
        f"{desk} .scroll :is(th,td){{text-align:left;vertical-align:top;padding:3px 6px}}"
        f"{desk} .widget-upload{{font-size:0}}{desk} .widget-upload i{{font-size:15px}}"
        f"{desk} .widget-upload::after{{content:attr(title);font-size:15px}}</style>"
    )
    size.layout = widgets.Layout(height="0", margin="0")
    return size


def guarded(action: Callable[[], str], message: Any) -> None:
    """Do it and show what it says; what goes wrong is told, since a callback's error would vanish.

    `action` returns HTML.
    """
    try:
        message.value = said(action())
    except Exception as err:
        faults = err.faults if isinstance(err, InputError) else (f"{type(err).__name__}: {err}",)
        lines = "".join(f"<li>{html.escape(str(f))}</li>" for f in faults)
        message.value = said(f"<b>Not done.</b><ul>{lines}</ul>", "alert")


def uploaded(change: Any) -> list[tuple[str, bytes]]:
    """Names and contents of what an upload button holds."""
    return [(str(f["name"]), bytes(f["content"])) for f in change]
