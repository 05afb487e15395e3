"""Standard output and error: colour, bytes, progress and the word about compiling."""

import io
import sys

import pytest
from rich.text import Text

from reach.cli import streams
from reach.compiler import kernel_cache
from reach.errors import OutputError


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self):
        return True


class Broken(io.StringIO):
    """A stream that cannot be written."""

    def __init__(self, error):
        super().__init__()
        self.error = error

    def write(self, text):
        raise self.error


class Timers:
    """Stands in for the clock: the timer's function is called at its start if the work is slow, else never."""

    slow = True

    def __init__(self, seconds, function):
        self.seconds, self.function = seconds, function

    def start(self):
        if Timers.slow:
            self.function()

    def cancel(self):
        pass

    def join(self):
        pass


@pytest.fixture
def terminal(monkeypatch):
    """A function that makes both streams terminals with colour (not before the test begins: pytest sets its own)."""
    for name in ("NO_COLOR", "FORCE_COLOR", "TTY_COMPATIBLE", "TTY_INTERACTIVE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")

    def make_terminals():
        out, err = Terminal(), Terminal()
        monkeypatch.setattr(sys, "stdout", out)
        monkeypatch.setattr(sys, "stderr", err)
        return out, err

    return make_terminals


@pytest.fixture(autouse=True)
def compiled(monkeypatch):
    monkeypatch.setattr(streams.threading, "Timer", Timers)
    Timers.slow = True


def test_colour_on_a_terminal_only(terminal, monkeypatch):
    out, _ = terminal()
    streams.write_text(Text("lamp", "red"))
    assert out.getvalue() == "\x1b[31mlamp\x1b[0m"
    plain = io.StringIO()
    monkeypatch.setattr(sys, "stdout", plain)
    streams.write_text(Text("lamp", "red"))
    assert plain.getvalue() == "lamp"


def test_no_color_is_respected(terminal, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    out, _ = terminal()
    streams.write_text(Text("lamp", "red"))
    assert out.getvalue() == "lamp"


def test_data_is_utf8_with_line_feeds_whatever_the_stream_is(monkeypatch):
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii", newline="\r\n"))
    streams.write_data("灯\n")
    assert raw.getvalue() == "灯\n".encode()


@pytest.mark.parametrize("write", [streams.write_data, streams.write_text])
def test_what_cannot_be_written_is_told(monkeypatch, write):
    monkeypatch.setattr(sys, "stdout", Broken(OSError(28, "No space left on device")))
    with pytest.raises(OutputError, match="standard output: cannot be written: no space left on device"):
        write("lamp")
    monkeypatch.setattr(sys, "stdout", Broken(BrokenPipeError()))
    with pytest.raises(BrokenPipeError):
        write("lamp")


def test_width_follows_the_terminal_within_bounds(terminal, monkeypatch):
    terminal()
    for columns, expected in ((20, 60), (80, 80), (300, 100)):
        monkeypatch.setenv("COLUMNS", str(columns))
        assert streams.terminal_width() == expected
    monkeypatch.setattr(sys, "stdout", io.StringIO())
    assert streams.terminal_width() == streams.PLAIN_WIDTH


def test_slow_work_on_a_terminal_shows_what_is_done(terminal):
    out, err = terminal()
    with streams.progress() as tell:
        tell("exploring", 0.5)
        tell("proving scripts", None)
    assert out.getvalue() == ""
    assert "proving scripts" in err.getvalue()


def test_quick_work_shows_nothing(terminal):
    Timers.slow = False
    _, err = terminal()
    with streams.progress() as tell:
        tell("exploring", 0.5)
    assert err.getvalue() == ""


def test_no_progress_into_a_file(monkeypatch):
    err = io.StringIO()
    monkeypatch.setattr(sys, "stderr", err)
    with streams.progress() as tell:
        tell("exploring", 0.5)
    assert err.getvalue() == ""


def test_progress_ends_when_the_work_fails(terminal):
    _, err = terminal()
    with pytest.raises(ZeroDivisionError), streams.progress():
        raise ZeroDivisionError
    assert err.getvalue().endswith(("\x1b[?25h", "\x1b[2K")), "the cursor is back and the line is gone"


def test_a_compilation_is_announced_anywhere(monkeypatch, tmp_path):
    err = io.StringIO()
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    monkeypatch.setattr(sys, "stderr", err)
    with streams.progress():
        assert err.getvalue() == ""
        kernel_cache.tell_compiling()
        kernel_cache.tell_compiling()
    assert err.getvalue().startswith("reach: compiling kernels that no run has needed since installing")
    assert err.getvalue().count("\n") == 1


def test_where_kernels_cannot_be_kept_that_is_said(monkeypatch, tmp_path):
    err = io.StringIO()
    (tmp_path / "levelreach").write_text("a file where the folder would be")
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    monkeypatch.setattr(sys, "stderr", err)
    streams.announce_compilation()
    assert "as every run has to: they cannot be kept in" in err.getvalue() and "NUMBA_CACHE_DIR" in err.getvalue()
