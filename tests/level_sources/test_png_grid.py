"""PNG pictures, encoded here by the words of the PNG specification as well as by Pillow."""

import io
import json
import struct
import zlib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from reach.errors import InputError
from reach.level_sources.mapping import TileMapping, load_mapping
from reach.level_sources.png_grid import read
from tests.made_files import refused

BLACK, WHITE, RED = (0, 0, 0), (255, 255, 255), (255, 0, 0)
TILES = {"#000000": "empty", "#FFFFFF": "solid", "#ff0000": {"place": "start"}}


@pytest.fixture(scope="module")
def picture(tmp_path_factory):
    folder = tmp_path_factory.mktemp("png")

    def write(data, tiles=TILES):
        (folder / "a.png").write_bytes(data)
        if tiles is None:
            return folder / "a.png", TileMapping()
        (folder / "m.json").write_text(json.dumps({"format": "reach-mapping/1", "tiles": tiles}), encoding="utf-8")
        return folder / "a.png", load_mapping(folder / "m.json")

    return write


def chunk(kind, data):
    """PNG specification (W3C, third edition), 5.3: length, type, data, CRC of type and data."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def encoded(width, height, lines, depth=8, colour=2, *extra):
    """The smallest PNG of these scan lines: signature, IHDR, what is given, IDAT, IEND (5.2, 11.2); filter 0 (9.2)."""
    header = struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0)
    data = zlib.compress(b"".join(b"\0" + line for line in lines))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + b"".join(extra) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def saved(pixels, mode=None, **options):
    stream = io.BytesIO()
    image = Image.fromarray(np.array(pixels, np.uint8))
    (image.convert(mode) if mode else image).save(stream, "PNG", **options)
    return stream.getvalue()


def test_a_pixel_is_a_tile(picture):
    made = read(*picture(encoded(3, 2, [bytes(BLACK + RED + BLACK), bytes(WHITE * 3)])))
    assert made.rows == [".@.", "###"]
    assert made.symbols == {}


def test_grey_palette_and_bilevel_pictures(picture):
    grey = encoded(2, 2, [b"\x00\x00", b"\xff\x80"], 8, 0)
    tiles = TILES | {"#808080": {"place": "start"}}
    assert read(*picture(grey, tiles)).rows == ["..", "#@"]
    palette = chunk(b"PLTE", bytes(BLACK + WHITE + RED))
    assert read(*picture(encoded(3, 1, [b"\x00\x01\x02"], 8, 3, palette))).rows == [".#@"]
    # Bilevel: one bit a pixel, the highest bit first (7.2).
    assert read(*picture(encoded(4, 1, [b"\xa0"], 1, 0))).rows == ["#.#."]


def test_transparency_is_a_colour_of_its_own(picture):
    lines = [bytes((255, 0, 0, 255, 255, 0, 0, 128, 1, 2, 3, 0, 9, 9, 9, 0))]
    tiles = {"#ff0000": {"place": "start"}, "#ff000080": "solid", "transparent": "hazard"}
    assert read(*picture(encoded(4, 1, lines, 8, 6), tiles)).rows == ["@#^^"]
    # 11.3.1.1: a palette entry or one colour made transparent.
    palette = chunk(b"PLTE", bytes(BLACK + RED)) + chunk(b"tRNS", b"\0")
    assert read(*picture(encoded(2, 1, [b"\0\1"], 8, 3, palette), tiles)).rows == ["^@"]
    clear = chunk(b"tRNS", struct.pack(">HHH", 9, 9, 9))
    assert read(*picture(encoded(2, 1, [bytes((9, 9, 9, *RED))], 8, 2, clear), tiles)).rows == ["^@"]


def test_what_needs_a_symbol_of_its_own_gets_one(picture):
    tiles = TILES | {"#00ff00": {"material": "spring", "launch_px_per_s": 9}, "#0000ff": {"place": "exit"}}
    made = read(*picture(saved([[RED, (0, 255, 0), (0, 0, 255), (0, 255, 0)]]), tiles))
    spring, exit_ = made.rows[0][1], made.rows[0][2]
    assert made.rows == ["@" + spring + exit_ + spring]
    assert made.symbols == {spring: tiles["#00ff00"], exit_: tiles["#0000ff"]}


def test_unknown_colours_are_told_once_each_in_reading_order(picture):
    pixels = [[RED, (1, 2, 3)], [(0, 0, 9), (1, 2, 3)]]
    found = refused(read, *picture(saved(pixels)))
    assert [each[:2] for each in found] == [
        ("column 1, row 0", "the unknown colour #010203, the first of 2"),
        ("column 0, row 1", "the unknown colour #000009"),
    ]
    assert found[0][2].endswith('m.json: "#000000" "#FFFFFF" "#ff0000"')
    assert "none was given" in refused(read, *picture(saved(pixels), None))[0][2]
    clear = refused(read, *picture(encoded(2, 1, [bytes((1, 2, 3, 0, 1, 2, 3, 9))], 8, 6)))
    assert [each[1] for each in clear] == ["the unknown colour transparent", "the unknown colour #01020309"]


def test_keys_that_are_no_colours_are_refused_in_the_mapping(picture):
    tiles = {"red": "solid", "#12345": "solid", "#FFF000": "solid", "#fff000ff": "solid", "#12345600": "solid"}
    found = refused(read, *picture(saved([[RED]]), tiles | {"transparent": "solid"}))
    assert [each[1] for each in found] == [
        'the key "red"',
        'the key "#12345"',
        'the colour "#fff000ff" again',
        'the colour "transparent" again',
    ]
    assert found[0][0].startswith("$.tiles.red (line 1, column ")


@pytest.mark.parametrize(
    ("width", "height", "found"),
    [
        (4097, 1, "4097 x 1 pixels"),
        (1, 4097, "1 x 4097 pixels"),
        (4000, 1001, "4000 x 1001 pixels"),
        # Their heads promise far more than any file of this size unpacks to.
        (2**31 - 1, 2**31 - 1, None),
        (30_000, 30_000, None),
    ],
)
def test_a_picture_too_large_is_never_unpacked(picture, width, height, found):
    ((place, said, _),) = refused(read, *picture(encoded(width, height, [bytes(RED)])))
    assert place == ""
    assert found in (None, said)


def test_sixteen_bits_a_channel_are_refused(picture):
    assert refused(read, *picture(encoded(1, 1, [b"\x12\x34"], 16, 0)))[0][1] == "16 bits a channel"
    assert refused(read, *picture(encoded(1, 1, [b"\xff\x00\x00\x00\x00\x00"], 16, 2)))[0][1] == "16 bits a channel"


GOOD = encoded(3, 2, [bytes(BLACK + RED + BLACK), bytes(WHITE * 3)])


@pytest.mark.parametrize("data", [b"", b"GIF89a", GOOD[:20], GOOD[:-20], GOOD[:-13], GOOD[:45] + b"\xff" + GOOD[46:]])
def test_what_is_no_picture_or_damaged_is_refused(picture, data):
    ((place, found, allowed),) = refused(read, *picture(data))
    assert (place, found, allowed) == ("", "no PNG picture, or a damaged one", "a PNG picture")


def test_other_pictures_are_refused(picture):
    stream = io.BytesIO()
    Image.new("RGB", (3, 2)).save(stream, "BMP")
    assert refused(read, *picture(stream.getvalue()))[0][1] == "no PNG picture, or a damaged one"


@given(st.data())
def test_any_damage_is_survived(picture, data):
    bad = bytearray(GOOD)
    for _ in range(data.draw(st.integers(1, 4))):
        bad[data.draw(st.integers(0, len(bad) - 1))] = data.draw(st.integers(0, 255))
    try:
        made = read(*picture(bytes(bad[: data.draw(st.integers(0, len(bad)))])))
    except InputError as error:
        assert error.problems
        return
    assert len({len(row) for row in made.rows}) == 1
