"""Photographs for a page: turned upright, made smaller, and nothing of the file but its picture kept.

A photograph from a telephone says where and when it was taken and on which device, and may hold a second picture.
None of that gets through: its pixels are pasted into a new image. A colour profile goes with the rest, so that the
colours of a photograph in a wide colour space are a little paler.
"""

from __future__ import annotations

import base64
import io
import warnings
from typing import TYPE_CHECKING, Final

from ...lang.quantities.quantity import shown
from ...lang.records import dataclass

if TYPE_CHECKING:
    from PIL.Image import Image

LARGEST_FILE: Final = 40_000_000
"""Bytes of a photograph that are read (ours): a telephone's best has about 15 MB."""
LARGEST: Final = 1_000_000
"""Bytes of a photograph on the page."""
LONGEST_EDGE: Final = 1280
"""px of the longer edge on the page."""
FORMATS: Final = ("JPEG", "PNG", "WEBP")
"""What is read: no more decoders than a workshop needs."""
QUALITIES: Final = (84, 74, 60, 40, 20)
"""Of JPEG, from the best down; the first that is small enough is taken."""
_BRANDS: Final = {
    **dict.fromkeys((b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"), "HEIC"),
    **dict.fromkeys((b"avif", b"avis"), "AVIF"),
}
"""Brands of ISO/IEC 23008-12 in the `ftyp` box of a file, and what people call it."""


class PhotographError(ValueError):
    """A photograph that cannot be shown: ``str()`` is what was found, ``remedy`` what to do."""

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(message)
        self.remedy = remedy


@dataclass(frozen=True, slots=True, kw_only=True)
class Photograph:
    """A picture as a page may hold it; ``kind`` is its media type."""

    data: bytes
    kind: str
    width: int
    height: int

    @property
    def uri(self) -> str:
        return data_uri(self.kind, self.data)


def data_uri(kind: str, data: bytes) -> str:
    """Data as a part of the page itself (RFC 2397)."""
    return f"data:{kind};base64,{base64.b64encode(data).decode('ascii')}"


def photograph(data: bytes) -> Photograph:
    """The picture in the bytes of a file. Raises ``PhotographError``."""
    _refuse_unread(data)
    try:
        from PIL import Image, UnidentifiedImageError
    except ImportError:
        raise PhotographError(
            "photographs need Pillow, which is not installed",
            "install it with python -m pip install 'loomwright[log]'",
        ) from None
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of damaged notes in a file, which are left out anyway
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            with Image.open(io.BytesIO(data), formats=FORMATS) as file:
                lossless = file.format == "PNG"
                picture = _plain(file)
        except (Image.DecompressionBombWarning, Image.DecompressionBombError):
            most = shown(Image.MAX_IMAGE_PIXELS / 1e6) if Image.MAX_IMAGE_PIXELS else ""
            raise PhotographError(
                f"it has more than {most} million pixels", "make it smaller in a program for pictures"
            ) from None
        except UnidentifiedImageError:
            raise PhotographError(
                "this is no photograph", "expected a picture as JPEG, PNG or WebP: save it as one"
            ) from None
        except Exception as error:  # noqa: BLE001  decoders of damaged files raise whatever comes
            raise PhotographError(
                f"its picture is damaged ({_plainly(error)})", "copy it again from where it was taken"
            ) from None
    return _encoded(picture, lossless=lossless)


def _refuse_unread(data: bytes) -> None:
    """Refuse what no decoder is asked for."""
    if len(data) > LARGEST_FILE:
        raise PhotographError(
            f"it is larger than {LARGEST_FILE // 1_000_000} MB", "make it smaller in a program for pictures"
        )
    if not data:
        raise PhotographError("the file is empty", "copy it again from where it was taken")
    name = _BRANDS.get(data[8:12]) if data[4:8] == b"ftyp" else None
    if name is not None:
        raise PhotographError(
            f"this photograph is {name}, which not every browser shows",
            "save it as JPEG, or set the camera to take JPEG",
        )
    if data.lstrip()[:1] == b"<" and b"<svg" in data[:4096].lower():
        raise PhotographError("this is a drawing as SVG, not a photograph", "save it as PNG")


def _plain(file: Image) -> Image:
    """The pixels alone, upright, as a new image without transparency."""
    from PIL import ImageOps
    from PIL.Image import Resampling, new

    file.draft("RGB", (LONGEST_EDGE, LONGEST_EDGE))  # JPEG: decoded smaller at once
    file.load()
    upright = ImageOps.exif_transpose(file)
    if upright.mode.startswith("I"):  # 16 bits a pixel
        upright = upright.convert("I").point(lambda value: value * (1 / 256)).convert("L")
    has_holes = upright.has_transparency_data
    coloured = upright.convert("RGBA" if has_holes else "RGB")
    coloured.thumbnail((LONGEST_EDGE, LONGEST_EDGE), Resampling.LANCZOS)
    plain = new("RGB", coloured.size, "white")
    plain.paste(coloured, mask=coloured.getchannel("A") if has_holes else None)
    return plain


def _encoded(picture: Image, *, lossless: bool) -> Photograph:
    """The picture in the best quality that is small enough; a drawing stays sharp where it can."""
    tries: list[tuple[str, dict[str, int]]] = [("JPEG", {"quality": quality}) for quality in QUALITIES]
    if lossless:
        tries.insert(0, ("PNG", {}))
    for format_, how in tries:
        target = io.BytesIO()
        picture.save(target, format_, **how)
        if target.tell() <= LARGEST:
            width, height = picture.size
            return Photograph(data=target.getvalue(), kind=f"image/{format_.lower()}", width=width, height=height)
    raise PhotographError(
        f"it takes more than {LARGEST // 1_000_000} MB at {LONGEST_EDGE} pixels", "save it as JPEG in a lower quality"
    )


def _plainly(error: Exception) -> str:
    """What a decoder says, without line ends and at a length that fits a line."""
    said = " ".join(str(error).split())
    return said[:80] or type(error).__name__
