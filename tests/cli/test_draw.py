"""`reach draw`: the picture of a check."""

from PIL import Image

from tests.made_reports import SOFTLOCK, make_report


def test_findings_do_not_change_the_exit_code(run, quay, checker, here):
    checker.report = make_report(findings=(SOFTLOCK,))
    ran = run("draw", *quay, "-o", "map.png")
    assert (ran.code, ran.out) == (0, "")
    assert (here / "map.png").exists()


def test_scale_makes_the_picture_larger(run, quay, checker, here):
    for scale in (1, 3):
        assert run("draw", *quay, "-o", f"map{scale}.png", "--scale", str(scale)).code == 0
    with Image.open(here / "map1.png") as small, Image.open(here / "map3.png") as large:
        assert small.height < large.height


def test_the_picture_is_asked_for(run, quay, checker):
    ran = run("draw", *quay)
    assert (ran.code, ran.out) == (2, "")
    assert "--output" in ran.err
    assert checker.calls == []


def test_another_kind_of_picture_is_refused(run, quay, checker):
    ran = run("draw", *quay, "-o", "map.jpeg")
    assert ran.code == 2
    assert ".png" in ran.err
    assert checker.calls == []
