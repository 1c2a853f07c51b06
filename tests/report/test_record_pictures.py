"""Which kept files are pictures, and how large: against Pillow, which opens them."""

import io

import pytest
from hypothesis import given
from hypothesis import strategies as some
from PIL import Image
from record_jobs import png

from stillbore.report.record_pictures import MOST_PIXELS, picture


def made(form, size, mode="RGB", **options):
    out = io.BytesIO()
    Image.effect_noise(size, 80.0).convert(mode).save(out, form, **options)
    return out.getvalue()


@pytest.mark.parametrize("form,options", [("PNG", {}), ("PNG", {"mode": "L"}), ("PNG", {"mode": "RGBA"}),
                                          ("JPEG", {}), ("JPEG", {"mode": "L"}), ("JPEG", {"progressive": True}),
                                          ("JPEG", {"exif": b"Exif\0\0" + b"\xff" * 400}), ("JPEG", {"comment": b"x"})])
@pytest.mark.parametrize("size", [(31, 17), (300, 5)])
def test_size_and_sort_are_what_another_reader_finds(form, options, size):
    data = made(form, size, **options)
    found = picture(data)
    assert found is not None and (found.width, found.height) == Image.open(io.BytesIO(data)).size == size
    assert found.kind == {"PNG": "image/png", "JPEG": "image/jpeg"}[form] and found.data == data


@pytest.mark.parametrize("form", ["PNG", "JPEG"])
def test_a_picture_that_is_cut_off_is_none(form):
    data = made(form, (40, 30))
    assert [length for length in range(len(data)) if picture(data[:length]) is not None] == []


@pytest.mark.parametrize("form", ["GIF", "BMP", "TIFF", "WEBP"])
def test_other_sorts_are_not_shown(form):
    assert picture(made(form, (10, 10))) is None


def test_a_size_beyond_belief_is_not_shown():
    assert picture(png(size=(MOST_PIXELS, 1))) is not None
    assert picture(png(size=(MOST_PIXELS + 1, 1))) is None
    assert picture(png(size=(0, 5))) is None


@given(some.binary(max_size=200), some.sampled_from([b"", b"\x89PNG\r\n\x1a\n", b"\xff\xd8", b"\xff\xd8\xff\xc0"]))
def test_any_bytes_are_a_picture_or_none(data, head):
    found = picture(head + data)
    assert found is None or found.width * found.height <= MOST_PIXELS
