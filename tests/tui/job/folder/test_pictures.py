"""Pictures that come into a job: known by what they hold, shown bare, and decoded within bounds."""

import io
import subprocess
import sys
import zlib

import pytest
from PIL import Image, PngImagePlugin

from coaxly.errors import UsageError
from coaxly.job.folder.pictures import NotShown, bare, taken_in

FORMATS = ("JPEG", "PNG", "GIF", "WEBP", "TIFF", "BMP")
SECRET = b"parked at 12 Invented Lane"


def picture(form="JPEG", size=(60, 40), colour="red", **more):
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, form, **more)
    return out.getvalue()


def talking(form):
    """A picture with something written into it."""
    if form == "PNG":
        told = PngImagePlugin.PngInfo()
        told.add_text("Comment", SECRET.decode())
        return picture(form, pnginfo=told)
    if form == "WEBP":
        exif = Image.Exif()
        exif[0x010E] = SECRET.decode()
        return picture(form, xmp=SECRET, exif=exif)
    if form == "TIFF":
        return picture(form, description=SECRET.decode())
    return picture(form, comment=SECRET)


@pytest.mark.parametrize("form", ["JPEG", "PNG", "GIF", "WEBP", "TIFF"])
def test_nothing_that_was_written_into_a_picture_is_shown(form):
    data = talking(form)
    assert SECRET in data
    shown, size = bare(data, 1100)
    assert SECRET not in shown and size == (60, 40)
    assert not {"comment", "exif", "xmp", "icc_profile"} & set(Image.open(io.BytesIO(shown)).info)


def test_a_profile_of_colours_with_words_in_it_is_not_shown():
    shown, _ = bare(picture(icc_profile=SECRET), 1100)
    assert SECRET not in shown


@pytest.mark.parametrize("form", FORMATS)
def test_pictures_are_copied_under_free_names_that_say_what_they_hold(form, tmp_path):
    source = tmp_path / "Bell Housing.html"
    source.write_bytes(picture(form))
    end = {"JPEG": "jpg", "TIFF": "tif"}.get(form, form.lower())
    (tmp_path / "job").mkdir()
    assert taken_in(tmp_path / "job", source)[0] == f"bell-housing.{end}"
    assert taken_in(tmp_path / "job", source)[0] == f"bell-housing-2.{end}"
    assert (tmp_path / "job" / f"bell-housing.{end}").read_bytes() == source.read_bytes()


def test_a_name_that_fits_what_it_holds_is_kept(tmp_path):
    source = tmp_path / "Dial.JPEG"
    source.write_bytes(picture())
    (tmp_path / "job").mkdir()
    assert taken_in(tmp_path / "job", source)[0] == "dial.jpeg"


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("paper.csv", b"angle,reading_thou\n0,1\n"),
        ("x.html", b"GIF89a<html><script>alert(1)</script></html>" * 9),
        ("x.svg", b"BM<svg onload='alert(1)'/>"),
        ("cut.jpg", picture(size=(400, 400))[:200]),
        ("none.png", b""),
    ],
)
def test_what_is_no_picture_is_not_taken_for_one(tmp_path, name, data):
    (tmp_path / name).write_bytes(data)
    (tmp_path / "job").mkdir()
    with pytest.raises(UsageError, match=r"is (no picture|damaged)"):
        taken_in(tmp_path / "job", tmp_path / name)
    with pytest.raises(UsageError, match="is no file"):
        taken_in(tmp_path / "job", tmp_path)
    assert list((tmp_path / "job").iterdir()) == []


COST = """
import pathlib, resource, sys
from coaxly.job.folder.pictures import bare
small, large = (pathlib.Path(path).read_bytes() for path in sys.argv[1:])
bare(small, 64)  # what the library itself takes
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
bare(large, 1100)
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024)
"""
"""Says how many MiB decoding a picture takes, in a process of its own; a small one comes first."""


def huge(form):
    """A small picture that says that it is 16,000 points a side."""
    side = 16_000
    if form == "PNG":
        data = bytearray(picture("PNG"))
        data[16:24] = side.to_bytes(4, "big") * 2
        data[29:33] = zlib.crc32(data[12:29]).to_bytes(4, "big")
    elif form == "WEBP":
        data = bytearray(picture("WEBP"))
        data[26:30] = side.to_bytes(2, "little") * 2
    elif form == "WEBP lossless":
        data = bytearray(picture("WEBP", lossless=True))
        data[21:25] = ((side - 1) * (1 + (1 << 14))).to_bytes(4, "little")
    else:
        data = bytearray(talking("WEBP"))
        data[24:30] = (side - 1).to_bytes(3, "little") * 2
    return bytes(data)


@pytest.mark.parametrize("form", ["PNG", "WEBP", "WEBP lossless", "WEBP with words"])
def test_a_picture_that_is_too_large_is_neither_decoded_nor_taken(form, tmp_path):
    with pytest.raises(NotShown, match="points"):
        bare(huge(form), 1100)
    (tmp_path / "x").write_bytes(huge(form))
    (tmp_path / "job").mkdir()
    with pytest.raises(UsageError, match=r"^x: .* points .*: make it smaller first$"):
        taken_in(tmp_path / "job", tmp_path / "x")
    assert list((tmp_path / "job").iterdir()) == []


def test_a_picture_whose_marks_or_size_are_nonsense_is_told_in_plain_words(tmp_path, recwarn):
    data = bytearray(picture("PNG"))
    data[16:24] = bytes(8)
    (tmp_path / "x.png").write_bytes(data)
    (tmp_path / "job").mkdir()
    with pytest.raises(UsageError, match=r"or no picture: [a-z][^<]*$"):
        taken_in(tmp_path / "job", tmp_path / "x.png")
    marks = b"Exif\0\0II*\0\x08\0\0\0\x02\0\x12\x01\x03\0\xff\xff\0\0\xff\xff\xff\x7f"
    whole = picture()
    bare(whole[:2] + b"\xff\xe1" + (len(marks) + 2).to_bytes(2, "big") + marks + whole[2:], 64)
    assert not recwarn.list


@pytest.mark.parametrize(("form", "side"), [("WEBP", 4400), ("PNG", 4400), ("JPEG", 6000)])
def test_a_picture_is_decoded_within_200_mb(form, side, tmp_path):
    small, large = tmp_path / "small", tmp_path / "large"
    small.write_bytes(picture())
    large.write_bytes(picture(form, (side, side), **({"quality": 1} if form != "PNG" else {})))
    told = subprocess.run(
        [sys.executable, "-c", COST, small, large], stdout=subprocess.PIPE, text=True, check=True, timeout=100
    )
    assert 0.0 <= float(told.stdout) < 200.0
