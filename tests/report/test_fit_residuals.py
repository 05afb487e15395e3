"""The picture of a fit's residuals: what it says, and that all of it stands on the page."""

import pytest

from reach.report import fit_residuals, movement_fit_text
from reach.workshop.fit.fitting import fit_recording
from reach.workshop.recording import load_recording
from tests.made_recordings import Player, csv_of, random_profile


@pytest.mark.parametrize("rounded", [None, 1])
@pytest.mark.parametrize("off_px", [0, 4000])
def test_all_letters_stand_on_the_page_and_count_as_the_text_does(tmp_path, monkeypatch, rounded, off_px):
    take = Player(random_profile(0).motion, "walk", 600).hold(30).hold(60, "r").rest().hold(60, "l").rest()
    file = tmp_path / "walk.csv"
    file.write_text(csv_of([take], rounded, shift_px=lambda _, tick: (off_px if tick == 60 else 0, 0)), "utf-8")
    fit = fit_recording(load_recording(file))
    drawn = []
    monkeypatch.setattr(fit_residuals, "save_figure", lambda figure, path: drawn.append(figure))
    fit_residuals.save_residuals(fit, tmp_path / "off.png")
    figure = drawn[0]
    box = figure.get_tightbbox()
    width_in, height_in = figure.get_size_inches()
    assert 0 <= box.x0 < box.x1 <= width_in
    assert 0 <= box.y0 < box.y1 <= height_in
    words = movement_fit_text.held_words(fit)
    assert words in " ".join(movement_fit_text.compose(fit, 200).plain.split())
    written = [text.get_text() for text in figure.texts]
    assert any(text.endswith(words) for text in written)
    assert fit_residuals.WITHOUT_DOTS in written
    # The label must not run into the numbers beside it.
    for axes in figure.axes:
        numbers = [label.get_window_extent().x0 for label in axes.get_yticklabels() if label.get_text()]
        assert axes.yaxis.label.get_window_extent().x1 <= min(numbers)
