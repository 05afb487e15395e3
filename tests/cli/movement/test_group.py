from reach.__main__ import main


def test_the_group_alone_tells_its_commands_and_does_nothing(capsys):
    assert main(["movement"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("Usage: reach movement")
