"""Add a plant: hand in its file, or write it on the page."""

from typing import Annotated

from fastapi import APIRouter, Depends, File, Form, Request, Response, UploadFile
from fastapi.responses import RedirectResponse
from sqlalchemy.orm import Session

from server.accounts.needs import needs, person_of, require_engineer
from server.accounts.roles import Right
from server.db import get_session
from server.errors import AppError
from server.plants.actions import add_plant
from server.plants.forms import PlantForm
from server.plants.page import new_plant_page
from server.plants.plant_file import plant_from_text
from server.templating import frame_of, render

router = APIRouter()
TITLE = "Add a plant"


@router.get("/plants/new", dependencies=[needs(Right.ADD_PLANT)])
def new_plant(request: Request) -> Response:
    return render("plants/new.html", new_plant_page(frame_of(request, TITLE)))


@router.post("/plants", dependencies=[needs(Right.ADD_PLANT)])
def create_plant(
    request: Request,
    file: Annotated[UploadFile | None, File()] = None,
    text: Annotated[str, Form()] = "",
    session: Session = Depends(get_session, scope="function"),
) -> Response:
    try:
        form = PlantForm.read(file, text)
        if form.empty:
            raise AppError("Choose a plant file, or write one below.", 422)
        text = form.text
        plant = plant_from_text(form.text, file=form.file_name)
        require_engineer(session, person_of(request), plant.site.name)
        with session.begin_nested():
            train = add_plant(session, plant, form.text)
    except AppError as error:
        page = new_plant_page(frame_of(request, TITLE), text=text, error=error.message)
        return render("plants/new.html", page, status=error.status_code)
    return RedirectResponse(f"/trains/{train.id}/imports/new", status_code=303)
