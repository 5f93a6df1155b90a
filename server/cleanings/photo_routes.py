"""Photos of a cleaning: added, shown, taken out of use."""

from typing import Annotated

from fastapi import APIRouter, Depends, Form, Request, Response
from fastapi.responses import RedirectResponse

from server.accounts.needs import RequestSession, needs
from server.accounts.roles import Right
from server.cleanings.fields import LONGEST_TEXT
from server.cleanings.photos import MOST_PHOTOS, add_photos, picture_or_404, void_photo
from server.security.photo import MOST_BYTES, read_photo

router = APIRouter()
PICTURE_HEADERS = {"Content-Security-Policy": "default-src 'none'; sandbox", "Cache-Control": "no-store"}


async def sent_photos(request: Request) -> list[bytes]:
    """The photos of a form, and one byte more than may be taken of those that are too large."""
    sent = (await request.form()).getlist("photo")
    files = [one for one in sent if not isinstance(one, str)]
    return [await one.read(MOST_BYTES + 1) for one in files[: MOST_PHOTOS + 1]]


@router.post("/cleanings/{cleaning_id}/photos", dependencies=[needs(Right.ENTER)])
def create_photos(
    cleaning_id: int,
    sent: Annotated[list[bytes], Depends(sent_photos)],
    session: RequestSession,
    caption: Annotated[str, Form(max_length=LONGEST_TEXT)] = "",
) -> Response:
    photos = [photo for content in sent if (photo := read_photo(content)) is not None]
    add_photos(session, cleaning_id, photos, caption=caption)
    return RedirectResponse(f"/cleanings/{cleaning_id}#h-photos", status_code=303)


@router.get("/cleanings/{cleaning_id}/photos/{picture_id}", dependencies=[needs(Right.SEE)])
def show_picture(cleaning_id: int, picture_id: int, session: RequestSession) -> Response:
    photo = picture_or_404(session, cleaning_id, picture_id)
    return Response(photo.content, media_type=photo.kind, headers=PICTURE_HEADERS)


@router.post("/cleanings/{cleaning_id}/photos/{picture_id}/void", dependencies=[needs(Right.ENTER)])
def withdraw_picture(cleaning_id: int, picture_id: int, session: RequestSession) -> Response:
    void_photo(session, cleaning_id, picture_id)
    return RedirectResponse(f"/cleanings/{cleaning_id}#h-photos", status_code=303)
