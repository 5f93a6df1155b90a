// Shows where a slider stands while it is moved; the server works out the rest.
for (const slider of document.querySelectorAll("input.slider")) {
  const shown = document.querySelector(`output[for="${slider.id}"]`);
  slider.addEventListener("input", () => { shown.textContent = slider.value; });
}
