"""Where a report goes: standard output or a file, as text or as JSON, and what is told beside it."""

import pytest
from rich.text import Text

from reach.cli.arguments import ReportFormat
from reach.cli.report_output import write_report


def compose(width=80, written=()):
    return Text(f"text of {width} columns; {', '.join(written)}\n", "bold")


@pytest.mark.parametrize(
    ("report_format", "to_file", "out", "told", "in_file"),
    [
        ("text", False, "text of 100 columns; picture\n", "", None),
        ("json", False, "{}\n", "reach: OK\nreach: picture\n", None),
        ("text", True, "", "reach: OK\nreach: picture\nreach: report: FILE\n", "text of 80 columns; \n"),
        ("json", True, "", "reach: OK\nreach: picture\nreach: report: FILE\n", "{}\n"),
    ],
)
def test_where_a_report_goes(report_format, to_file, out, told, in_file, tmp_path, capsys):
    file = tmp_path / "report" if to_file else None
    write_report(ReportFormat(report_format), file, compose, lambda: "{}\n", "OK", ["picture"])
    captured = capsys.readouterr()
    assert (captured.out, captured.err) == (out, told.replace("FILE", str(file)))
    if file is not None:
        assert file.read_bytes().decode() == in_file
