/* Ticks and notes of a worksheet, kept in this browser alone: nothing is sent, and nothing is lost without signal. */
(function () {
  "use strict";

  const list = document.getElementById("steps");
  if (!list) return;
  const key = "skidbook-" + list.dataset.key;
  const clear = document.getElementById("clear");

  function stored() {
    try {
      return JSON.parse(localStorage.getItem(key)) || { steps: {}, notes: {} };
    } catch (error) {
      return { steps: {}, notes: {} }; /* storage is closed to us: the sheet still works, it only forgets */
    }
  }

  function keep(state) {
    try {
      localStorage.setItem(key, JSON.stringify(state));
    } catch (error) {
      return;
    }
  }

  function show() {
    const state = stored();
    list.querySelectorAll("[data-step]").forEach(function (box) {
      box.checked = Boolean(state.steps[box.dataset.step]);
      box.closest(".step").classList.toggle("done", box.checked);
    });
    list.querySelectorAll("[data-note]").forEach(function (field) {
      field.value = state.notes[field.dataset.note] || "";
    });
    clear.hidden = !Object.keys(state.steps).length && !Object.keys(state.notes).length;
  }

  list.addEventListener("input", function (event) {
    const state = stored();
    const node = event.target;
    if (node.dataset.step) {
      if (node.checked) state.steps[node.dataset.step] = new Date().toISOString();
      else delete state.steps[node.dataset.step];
    } else if (node.dataset.note) {
      if (node.value) state.notes[node.dataset.note] = node.value;
      else delete state.notes[node.dataset.note];
    }
    keep(state);
    if (node.dataset.step) show();
    else clear.hidden = false;
  });

  clear.addEventListener("click", function () {
    try {
      localStorage.removeItem(key);
    } catch (error) {
      return;
    }
    show();
  });

  /* Keep this very sheet for when there is no signal (shift-worker.js). */
  async function keepSheet() {
    if (!navigator.serviceWorker) return;
    await navigator.serviceWorker.register("/shift-worker.js").catch(() => undefined);
    const ready = await navigator.serviceWorker.ready;
    if (ready.active) ready.active.postMessage({ keep: [location.pathname + location.search] });
    list.dataset.kept = "yes";
  }

  show();
  keepSheet();
}());
