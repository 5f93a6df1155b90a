"""Write every document that is written from the code."""

from server.documents import examples, files, quantities, settings

quantities.PAGE.write_text(quantities.quantities_page(), encoding="utf-8")
settings.PAGE.write_text(settings.settings_page(), encoding="utf-8")
files.PAGE.write_text(files.files_page(), encoding="utf-8")
for page in examples.PAGES:
    page.write_text(examples.with_current_examples(page.read_text(encoding="utf-8")), encoding="utf-8")
