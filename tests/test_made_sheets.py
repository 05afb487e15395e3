from tests.made_sheets import sample_sheet


def test_a_samples_sheet_is_measured_once():
    assert sample_sheet("ferryman") is sample_sheet("ferryman")
    assert sample_sheet("ferryman").name == "ferryman"
