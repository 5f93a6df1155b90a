"""What a person sees of a page: its text without tags, on one line, and the parts that are not shown left out."""

import html
import re


def seen(page: str) -> str:
    """Text of a page as it is read; scripts and drawings' styles are no text."""
    body = page.split("<main", 1)[1].split("</main>", 1)[0]
    body = re.sub(r"<script.*?</script>|<style.*?</style>", " ", body, flags=re.DOTALL)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", body)).replace("\u202f", " ")).strip()
