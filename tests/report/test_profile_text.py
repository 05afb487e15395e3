import json

from reach.json_text import parse_json
from reach.report.profile_text import WIDTH, to_json


def test_it_is_json_with_short_lines():
    data = {
        "name": "Küste",
        "ground": {"walk": {"acceleration": 326, "top_speed": 94.9}, "coast_deceleration": 496, "note": "x" * 60},
        "jump": {
            "bands": [{"from_takeoff_speed": number * 7, "height_px": 56.25, "gravity": 1248} for number in range(4)]
        },
    }
    text = to_json(data)
    assert json.loads(text) == data
    assert max(map(len, text.splitlines())) <= WIDTH
    assert '"walk": {"acceleration": 326, "top_speed": 94.9},' in text
    assert text.endswith("}\n")


def test_decimals_stay_as_short_as_they_are():
    value = parse_json(to_json({"a": 0.1, "b": 1745.5, "c": 225.883}), "x").value
    assert [str(number) for number in value.values()] == ["0.1", "1745.5", "225.883"]
