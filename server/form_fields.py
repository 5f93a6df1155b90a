"""The text fields of a form that was sent, for routes whose fields are known only when the page is made."""

from typing import Annotated

from fastapi import Depends, Request


async def entered(request: Request) -> dict[str, str]:
    """All fields of the form that are text; files are left out, and the last of fields of one name is kept."""
    return {name: value for name, value in (await request.form()).items() if isinstance(value, str)}


FormFields = Annotated[dict[str, str], Depends(entered)]
