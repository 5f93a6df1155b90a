/* Photos of a cleaning: made small, then sent as the form would have sent them. */
(function () {
  "use strict";

  const form = document.getElementById("add-photos");
  if (!form) return;
  const told = document.getElementById("photos-told");

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const chosen = Array.from(form.elements.photo.files), small = new DataTransfer();
    told.textContent = chosen.length ? "The photos are made small." : "Choose a photo first.";
    if (!chosen.length) return;
    try {
      for (const file of chosen) small.items.add(new File([await Photo.small(file)], "photo.jpg", { type: "image/jpeg" }));
    } catch {
      told.textContent = "One of these is not a picture that can be read here.";
      return;
    }
    form.elements.photo.files = small.files;
    form.submit();
  });
}());
