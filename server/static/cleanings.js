/* The worksheet of a cleaning: ticks, values and notes, kept in this browser, so that nothing is lost without signal; they fill the
   record when it is written, and go when the record that holds them is seen. */
(function () {
  "use strict";

  const PREFIX = "skidbook-", PATIENCE_MS = 8000;
  const list = document.getElementById("steps");
  const form = document.querySelector("form[data-sheet]");
  const ticked = document.getElementById("ticked");

  function stored(key) {
    const empty = { steps: {}, notes: {}, values: {} };
    try {
      return Object.assign(empty, JSON.parse(localStorage.getItem(key)) || {});
    } catch (error) {
      return empty; /* storage is closed to us: the sheet still works, it only forgets */
    }
  }

  function keep(key, state) {
    try {
      localStorage.setItem(key, JSON.stringify(state));
    } catch (error) {
      return;
    }
  }

  function forget(key) {
    try {
      localStorage.removeItem(key);
    } catch (error) {
      return;
    }
  }

  function touched(state) {
    return [state.steps, state.notes, state.values].some((kind) => Object.keys(kind).length > 0);
  }

  /* ---- At the skid ---- */

  function sheet() {
    const key = PREFIX + list.dataset.key;
    const clear = document.getElementById("clear"), record = document.getElementById("record");
    const other = document.getElementById("other-units");

    function strange(state) {
      return Boolean(state.units) && state.units !== list.dataset.units;
    }

    function show() {
      const state = stored(key);
      list.querySelectorAll("[data-step]").forEach((box) => {
        box.checked = Boolean(state.steps[box.dataset.step]);
        box.closest(".step").classList.toggle("done", box.checked);
      });
      list.querySelectorAll("[data-note]").forEach((field) => { field.value = state.notes[field.dataset.note] || ""; });
      list.querySelectorAll("[data-value]").forEach((field) => {
        const text = strange(state) ? "" : state.values[field.dataset.value] || "";
        if (field.type === "checkbox") field.checked = Boolean(text);
        else field.value = text;
        field.disabled = strange(state);
      });
      other.hidden = !strange(state);
      if (strange(state)) {
        const address = new URL(location.href);
        address.searchParams.set("units", state.units);
        other.querySelector("a").href = address.pathname + address.search;
      }
      clear.hidden = !touched(state);
    }

    /* What was done, in words, for the record: it outlasts another version of this sheet. */
    function told(state) {
      return Array.from(list.querySelectorAll(".step")).map((step) => {
        const box = step.querySelector("[data-step]"), note = step.querySelector("[data-note]");
        const fields = Array.from(step.querySelectorAll("[data-value]")).filter((field) => state.values[field.dataset.value]);
        return {
          title: step.dataset.title, bath: step.dataset.bath, at: state.steps[box.dataset.step] || "",
          note: note ? note.value : "",
          values: fields.map((field) => [
            field.dataset.label, field.selectedOptions ? field.selectedOptions[0].text : field.value, field.dataset.unit || "",
          ]),
        };
      }).filter((one) => one.at || one.note || one.values.length);
    }

    function put(kind, name, text) {
      if (text) kind[name] = text;
      else delete kind[name];
    }

    list.addEventListener("input", (event) => {
      const state = stored(key), node = event.target;
      state.id = state.id || Date.now().toString(36) + Math.random().toString(36).slice(2);
      if (node.dataset.step) put(state.steps, node.dataset.step, node.checked ? new Date().toISOString() : "");
      else if (node.dataset.note) put(state.notes, node.dataset.note, node.value);
      else if (node.dataset.value) {
        put(state.values, node.dataset.value, node.type === "checkbox" ? (node.checked ? "yes" : "") : node.value.trim());
        state.units = list.dataset.units;
      }
      const restart = list.querySelector("[data-kind=restart] [data-step]");
      state.restarted = (restart && state.steps[restart.dataset.step]) || "";
      if (!strange(state)) state.told = told(state);
      keep(key, state);
      if (node.dataset.step) show();
      else clear.hidden = !touched(state);
    });

    clear.addEventListener("click", () => {
      if (!window.confirm("Clear all ticks, values and notes of this sheet?")) return;
      forget(key);
      show();
    });

    if (record) {
      const lost = document.getElementById("no-signal");
      record.addEventListener("click", (event) => { /* asked first: a page that does not come would take the sheet from view */
        event.preventDefault();
        lost.hidden = true;
        fetch(record.href, { signal: AbortSignal.timeout(PATIENCE_MS) })
          .then(() => location.assign(record.href)).catch(() => { lost.hidden = false; });
      });
    }
    show();
  }

  /* Keep this very sheet for when there is no signal (shift-worker.js). */
  async function keepSheet() {
    if (!navigator.serviceWorker) return;
    await navigator.serviceWorker.register("/shift-worker.js").catch(() => undefined);
    const ready = await navigator.serviceWorker.ready;
    if (ready.active) ready.active.postMessage({ keep: [location.pathname + location.search] });
    list.dataset.kept = "yes";
  }

  /* ---- The record ---- */

  /* A time as a field of day and time takes it, by the clock of the site. */
  function bySiteClock(instant) {
    const shape = { timeZone: form.dataset.timezone, dateStyle: "short", timeStyle: "short" };
    return new Intl.DateTimeFormat("sv-SE", shape).format(new Date(instant)).replace(" ", "T");
  }

  function fill() {
    const state = stored(PREFIX + form.dataset.sheet), fields = form.elements;
    if (!touched(state) || !state.told) return;
    const same = !state.units || state.units === fields.units.value;
    if (same) {
      Object.entries(state.values).forEach(([name, text]) => {
        const field = fields[name];
        if (!field) return;
        if (field.type === "checkbox") field.checked = true;
        else field.value = text;
        const bath = field.closest("details");
        if (bath) bath.open = true;
      });
    }
    const times = Object.values(state.steps).sort();
    if (times.length) {
      fields.started.value = bySiteClock(times[0]);
      fields.ended.value = state.restarted ? bySiteClock(state.restarted) : "";
    }
    const notes = state.told.filter((one) => one.note).map((one) => (one.bath ? one.title + ", " + one.bath : one.title) + ": " + one.note);
    if (notes.length) fields.remarks.value = notes.join("\n");
    fields.sheet.value = JSON.stringify({ id: state.id, told: state.told });
    document.getElementById("from-sheet").hidden = false;
  }

  /* A sheet goes from this browser when the record that holds it is seen, and not before. */
  function recorded() {
    let keys = [];
    try {
      keys = Object.keys(localStorage);
    } catch (error) {
      return;
    }
    keys.filter((key) => key.startsWith(PREFIX + "worksheet-") && stored(key).id === ticked.dataset.id).forEach(forget);
  }

  if (list) {
    sheet();
    keepSheet();
  }
  if (form) fill();
  if (ticked && ticked.dataset.id) recorded();
}());
