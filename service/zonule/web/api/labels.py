"""Lens labels: a code or a picture in, what it says out; nothing is stored."""

import io
import tempfile
from pathlib import Path

from fastapi import APIRouter, Request, UploadFile

from zonule.labels import LensLabel, decode_image, parse_label
from zonule.web.api.reading_models import LabelInput
from zonule.web.api.responses import problems
from zonule.web.problems import ProblemError
from zonule.web.security.limits import too_large

router = APIRouter(tags=["labels"])
PICTURES = {"PNG": ".png", "JPEG": ".jpg"}
MOST_PIXELS = 50_000_000


@router.post("/labels", responses=problems())
def read_label(given: LabelInput) -> LensLabel:
    """Reads the code of a lens label (GS1, HIBC, ICCBBA), or typed fields as JSON."""
    return parse_label(given.code)


@router.post("/labels/image", responses=problems(415))
def read_label_picture(request: Request, picture: UploadFile) -> LensLabel:
    """Reads the first code in a picture (PNG or JPEG, at most 8 MB)."""
    largest = request.app.state.settings.largest_picture
    content = picture.file.read(largest + 1)
    if len(content) > largest:
        raise ProblemError(413, too_large(largest))
    return label_in(content)


def label_in(content: bytes) -> LensLabel:
    """The label in a picture, by its content and never by the name or type that came with it.

    Raises ProblemError 415 for what is no PNG or JPEG of a size that can be read, LabelError for a picture without a
    readable code.
    """
    ending = PICTURES[_kind_of(content)]
    with tempfile.TemporaryDirectory(prefix="zonule-") as folder:
        place = Path(folder) / f"label{ending}"
        place.write_bytes(content)
        return decode_image(place)


def _kind_of(content: bytes) -> str:
    from PIL import Image, UnidentifiedImageError

    sentence = "The picture: expected a PNG or JPEG file, got something else; send a photograph of the label."
    try:
        with Image.open(io.BytesIO(content), formats=tuple(PICTURES)) as image:
            width, height = image.size
            kind = str(image.format)
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, Image.DecompressionBombError) as fault:
        raise ProblemError(415, sentence) from fault
    if width * height > MOST_PIXELS:
        raise ProblemError(415, f"The picture: expected at most {MOST_PIXELS:,} pixels; send a smaller one.")
    return kind
