"""The command takes its options and prints a table."""

import pytest

from tests.bench.command import main


def test_only_what_is_known_can_be_asked(capsys):
    with pytest.raises(SystemExit):
        main(["--levels", "nowhere"])
    assert "dense-200x15" in capsys.readouterr().err


def test_without_a_c_compiler_the_limit_is_left_out(capsys, monkeypatch):
    monkeypatch.setattr("tests.bench.set_kernel.shutil.which", lambda name: None)
    assert main(["--what", "set-kernel", "--quick"]) == 0
    assert "no C compiler" in capsys.readouterr().out
