/* The page of the shift log: moves from field to field, asks at once what is odd, keeps drafts, and saves through the queue
   on this device, so that nothing typed is lost with a connection or a browser. It judges nothing by itself: the rules are in
   the book that came with the page. */
(function () {
  "use strict";

  const form = document.getElementById("shift");
  const data = JSON.parse(document.getElementById("shift-data").textContent);
  const gauges = Array.from(form.querySelectorAll(".gauge"));
  const inputs = new Map(gauges.map((gauge) => [gauge.dataset.column, form.elements[gauge.dataset.column]]));
  const time = form.elements.time, remark = form.elements.remark, photo = form.elements.photo;
  const answer = document.getElementById("answer"), ask = document.getElementById("ask"), save = document.getElementById("save");
  const visited = new Set();
  const PAUSE_MS = 900, TICK_MS = 15000, SKEW_MS = 120000, OLD_DRAFT_MS = 900000, FIRST_PATIENCE_MS = 15000, AHEAD = "skidbook-clock-ahead-ms";
  const NO_ROOM = "This could not be sent, and this device has no room to keep it. Leave this page open, and press Save again when there is a connection.";
  let book = data.book, token = form.elements.form_token.value, picture = null;
  let key = newKey(), timeTouched = false, confirmed = "", pause = 0, serverFindings = [], saving = false, skew_ms = 0, latestDraft = null;
  let pressed = false, due = false, roomless = false;

  function newKey() {
    return Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  /* ---- The clock of the site ---- */
  const clock = new Intl.DateTimeFormat("sv-SE", {
    timeZone: data.zone, year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit",
  });
  const localTime = (date) => clock.format(date).replace(" ", "T");

  /* The instant of a time on the site's clock: the guess is moved by what the clock shows too much, twice for odd nights. */
  function instantOf(local) {
    const wanted = Date.parse(local + "Z");
    let guess = wanted;
    for (let n = 0; n < 2; n += 1) guess += wanted - Date.parse(localTime(new Date(guess)) + "Z");
    return guess;
  }

  /* Now, by the clock of the server where this device's is wrong. */
  const now_ms = () => Date.now() + skew_ms;

  function noteClock() {
    const minutes = Math.round(Math.abs(skew_ms) / 60000), hours = Math.floor(minutes / 60), note = document.getElementById("clock-off");
    note.hidden = !minutes;
    note.textContent = !minutes ? "" : `This device's clock was ${hours ? hours + " h " : ""}${minutes % 60} min ${skew_ms > 0 ? "slow" : "fast"} when it was last connected; the time here is put right.`;
  }

  /* How far the server's clock is ahead of this device's; remembered for times without a connection. */
  function setSkew(ahead_ms) {
    skew_ms = Math.abs(ahead_ms) > SKEW_MS ? ahead_ms : 0;
    try { localStorage.setItem(AHEAD, String(skew_ms)); } catch { /* then it is known while this page is open */ }
    noteClock();
    tick();
  }

  function recallSkew() {
    try { skew_ms = Number(localStorage.getItem(AHEAD)) || 0; } catch { skew_ms = 0; }
    noteClock();
    tick();
  }

  function tick() {
    if (!timeTouched) time.value = localTime(new Date(now_ms()));
  }

  /* ---- Checking ---- */
  const state = () => form.elements.state.value;

  function entry() {
    const now = now_ms(), taken = timeTouched && time.value ? instantOf(time.value) : now;
    return {
      typed: Object.fromEntries(Array.from(inputs, ([name, input]) => [name, input.value])), state: state(),
      taken_at_s: taken / 1000, now_s: now / 1000,
    };
  }

  function element(tag, text = "", name = "") {
    const found = document.createElement(tag);
    found.textContent = text;
    if (name) found.className = name;
    return found;
  }

  function reasonOf(column) {
    const field = form.elements["reason." + column];
    return field ? field.value.trim() : "";
  }

  function boxOf(finding) {
    const shown = finding.columns.filter((name) => inputs.has(name));
    const last = shown[shown.length - 1];
    return document.getElementById(last ? "q-" + last : "q-time");
  }

  function offerButton(finding) {
    const button = element("button", `Use ${finding.suggestion}`, "button offer");
    button.type = "button";
    button.setAttribute("aria-label", `Use ${finding.suggestion} for ${labelOf(finding.columns[0])}`);
    button.addEventListener("click", () => {
      const input = inputs.get(finding.columns[0]);
      input.value = finding.suggestion;
      changed();
      show();
      input.focus();
    });
    return button;
  }

  /* A field that was hidden meanwhile is on this page all the same. */
  const labelOf = (column) => (book.fields.find((rule) => rule.column === column) || { label: column.replaceAll("_", " ") }).label;

  function reasonField(column, text) {
    const box = element("div", "", "reason"), label = element("label", "Keep it, because"), field = element("input");
    Object.assign(field, { id: "r-" + column, name: "reason." + column, maxLength: 200, value: text, autocomplete: "off" });
    label.htmlFor = field.id;
    label.append(element("span", ` (${labelOf(column)})`, "unseen"));
    field.addEventListener("input", changed);
    box.append(label, field);
    return box;
  }

  function draw(box, findings) {
    const text = JSON.stringify(findings);
    if (box.dataset.shown === text) return; /* what is being typed there stays */
    const column = box.id.slice(2), reason = reasonOf(column);
    box.dataset.shown = text;
    box.replaceChildren();
    findings.forEach((finding) => {
      box.append(element("p", finding.sentence, finding.severity === "wrong" ? "error" : "odd"));
      if (finding.suggestion) {
        const offer = element("p", "", "meant");
        offer.append(element("span", finding.offer), offerButton(finding));
        box.append(offer);
      }
      if (finding.severity === "confirm") box.append(reasonField(column, reason));
    });
  }

  /* Findings whose fields have all been left; those of the field that is being typed in come after a pause. */
  function show() {
    const findings = ShiftRules.checkEntry(book, entry()).concat(serverFindings);
    const boxes = new Map(Array.from(form.querySelectorAll(".question"), (box) => [box, []]));
    findings.forEach((finding) => {
      const seen = finding.columns.every((name) => name === "time" || !inputs.has(name) || visited.has(name));
      if (seen) boxes.get(boxOf(finding)).push(finding);
    });
    boxes.forEach((some, box) => {
      draw(box, some);
      const gauge = box.closest(".gauge");
      if (!gauge) return;
      gauge.classList.toggle("wrong", some.some((finding) => ["wrong", "confirm"].includes(finding.severity)));
      inputs.get(gauge.dataset.column).setAttribute("aria-invalid", String(gauge.classList.contains("wrong")));
      gauge.classList.toggle("asked", some.some((finding) => ["ask", "tell"].includes(finding.severity)));
    });
    const filled = Array.from(inputs.values()).filter((input) => input.value.trim()).length;
    document.getElementById("filled").textContent = `${filled} of ${inputs.size}`;
    return findings;
  }

  /* ---- Drafts: the form says whether what it shows is kept on this device ---- */
  function changed() {
    serverFindings = [];
    confirmed = "";
    ask.hidden = true;
    const values = Object.fromEntries(Array.from(form.querySelectorAll(".gauge input[type=text], .reason input"),
      (input) => [input.name, input.value]).filter((pair) => pair[1]));
    const draft = { train: data.train, changed_ms: now_ms(), values, state: state(), remark: remark.value, time: timeTouched ? time.value : "", photo: picture };
    form.dataset.draft = "changed";
    latestDraft = draft;
    ShiftQueue.keepDraft(draft).then(() => { if (draft === latestDraft) form.dataset.draft = "kept"; }, () => undefined);
  }

  /* Gauges that were read in the morning were not read when the page is opened again. */
  function keepTimeOf(draft) {
    if (!draft.changed_ms || !draft.values || now_ms() - draft.changed_ms < OLD_DRAFT_MS || !Object.keys(draft.values).length) return;
    timeTouched = true;
    time.value = localTime(new Date(draft.changed_ms));
    noteDraft(`What you typed at ${time.value.slice(-5)} is still here, with its time. Change it if the gauges were read at another.`);
  }

  function noteDraft(words) {
    const note = document.getElementById("draft-time");
    note.hidden = !words;
    note.textContent = words;
  }

  function restore(draft) {
    if (!draft) return;
    Object.entries(draft.values).forEach(([name, value]) => {
      if (!inputs.has(name)) return;
      inputs.get(name).value = value;
      visited.add(name);
    });
    Array.from(form.elements.state).forEach((choice) => { choice.checked = choice.value === draft.state; });
    remark.value = draft.remark;
    timeTouched = Boolean(draft.time);
    if (timeTouched) time.value = draft.time;
    else keepTimeOf(draft);
    picture = draft.photo || null;
    showPicture();
    show();
    Object.entries(draft.values).forEach(([name, value]) => {
      const field = name.startsWith("reason.") && form.elements[name];
      if (field) field.value = value;
    });
  }

  /* ---- Photo: made small before it is kept ---- */
  function showPicture() {
    document.getElementById("photo-kept").textContent = picture ? `A photo of ${Math.ceil(picture.size / 1024)} kB is kept.` : "";
  }

  async function takePicture() {
    const chosen = photo.files[0];
    picture = null;
    if (chosen) {
      try {
        picture = await Photo.small(chosen);
      } catch {
        document.getElementById("photo-kept").textContent = "This is not a picture that can be read here.";
        return;
      }
    }
    changed();
    showPicture();
  }

  /* ---- Saving ---- */
  function record() {
    const now = new Date(now_ms());
    tick();
    const fields = { time: time.value, state: state(), remark: remark.value, confirmed };
    if (!timeTouched) fields.instant = now.toISOString();
    form.querySelectorAll(".gauge").forEach((gauge) => {
      gauge.querySelectorAll("input").forEach((input) => {
        const typed = input.name.startsWith("unit.") ? inputs.get(gauge.dataset.column).value.trim() : input.value.trim();
        if (typed) fields[input.name] = input.value.trim();
      });
    });
    return {
      key, train: data.train, place: data.place, person: data.person, form: fields, photo: picture,
      saved_s: Date.now() / 1000, when: time.value.replace("T", " "), waited: false, problem: "",
    };
  }

  function focusOn(finding) {
    const reason = finding.severity === "confirm" && form.elements["reason." + finding.columns[0]];
    (reason || inputs.get(finding.columns[0]) || time).focus();
  }

  function askOnce(odd) {
    document.getElementById("ask-words").textContent = odd.length === 1 ? odd[0].sentence : `${odd.length} things look odd. ` + odd[0].sentence;
    ask.hidden = false;
    document.getElementById("look-again").focus();
  }

  async function trySave() {
    inputs.forEach((input, name) => visited.add(name));
    const findings = show();
    const stops = findings.find((finding) => finding.severity === "wrong"
      || (finding.severity === "confirm" && !reasonOf(finding.columns[0])));
    if (stops) return focusOn(stops);
    const odd = findings.filter((finding) => finding.severity === "ask");
    if (odd.length && confirmed !== "yes") return askOnce(odd);
    if (!Array.from(inputs.values()).some((input) => input.value.trim()) && state() === "running") {
      tell({ sentence: "Nothing was entered yet.", look: "unknown" });
      return undefined;
    }
    if (saving) return undefined;
    saving = true;
    try {
      await hand(record());
    } finally {
      saving = false;
    }
    return undefined;
  }

  async function hand(mine) {
    Object.assign(save, { disabled: true, textContent: "Saving" });
    form.inert = true; /* what is typed now would go with the fields when they are emptied */
    const kept = await ShiftQueue.put(mine).then(() => true, () => false);
    roomless = !kept;
    const result = await ShiftQueue.send(mine, token, FIRST_PATIENCE_MS);
    form.inert = false;
    Object.assign(save, { disabled: false, textContent: "Save" });
    if (result.outcome === "asked" || result.outcome === "refused") return sendBack(mine, result);
    if (result.outcome !== "sent" && !kept) {
      timeTouched = true; /* sent again, it is the same entry */
      tell({ sentence: NO_ROOM, look: "watch" });
      return showQueue(result);
    }
    noteValues(mine);
    clear();
    if (result.outcome === "sent") {
      await ShiftQueue.remove(mine.key).catch(() => undefined);
      await ShiftQueue.dropDraft(mine.train).catch(() => undefined); /* still there where the entry found no room */
      tell(result.answer);
      refreshBook();
    } else {
      await ShiftQueue.update(Object.assign(mine, { waited: true }));
      tell({ sentence: `Kept on this device: the entry of ${mine.when} waits to be sent.`, look: "unknown" });
    }
    return showQueue(result);
  }

  /* The server asks something that this page did not know: the entry goes back into the form. */
  async function sendBack(mine, result) {
    await ShiftQueue.remove(mine.key).catch(() => undefined);
    key = newKey();
    changed();
    serverFindings = (result.findings || []).concat(Object.entries(result.errors || {}).map(([name, sentence]) => (
      { code: "refused", severity: inputs.has(name) ? "wrong" : "ask", columns: [inputs.has(name) ? name : "time"], sentence, suggestion: "", offer: "" })));
    const findings = show(), odd = findings.filter((finding) => finding.severity === "ask");
    if (odd.length && odd.length === findings.length) return askOnce(odd);
    if (serverFindings.length) focusOn(serverFindings[0]);
    return undefined;
  }

  function noteValues(mine) {
    inputs.forEach((input, name) => {
      if (!mine.form[name]) return;
      document.getElementById("l-" + name).replaceChildren(element("span", "Last ", "unseen"), element("b", mine.form[name]), element("span", "just now"));
    });
  }

  function clear() {
    form.querySelectorAll(".question").forEach((box) => { box.replaceChildren(); delete box.dataset.shown; });
    inputs.forEach((input) => { input.value = ""; });
    [remark.value, photo.value, picture, key, timeTouched, confirmed, serverFindings] = ["", "", null, newKey(), false, "", []];
    form.elements.state[0].checked = true;
    visited.clear();
    noteDraft("");
    showPicture();
    tick();
    show();
  }

  function tell(told) {
    const mark = document.querySelector(`template[data-look="${told.look}"]`);
    answer.className = "answer " + told.look;
    answer.replaceChildren();
    if (told.level) {
      const level = element("p", "", "level");
      level.append(mark.content.cloneNode(true), told.level);
      answer.append(level);
    }
    answer.append(element("p", told.sentence, "sentence"));
    if (told.headline) answer.append(element("p", told.headline, "quiet"));
    if (told.outcome === "conflict") {
      const link = element("a", "Say which is right");
      link.href = `/trains/${data.train}/shift/entries/${told.entry}`;
      link.className = "button main";
      answer.append(link);
    }
    answer.hidden = false;
    answer.focus();
    answer.scrollIntoView({ block: "center" });
  }

  /* ---- The queue ---- */
  function waitingLine(one) {
    const line = element("li", "", one.problem ? "refused" : "");
    line.append(element("span", `${one.place}, ${one.when}: `), element("b", one.problem || "waiting to be sent"));
    if (one.problem) {
      const back = element("button", "Put it back into the form", "button");
      back.type = "button";
      back.hidden = one.train !== data.train;
      back.addEventListener("click", async () => {
        const { time: when, state: was, remark: words, ...values } = one.form;
        await ShiftQueue.remove(one.key);
        restore({ values, state: was, remark: words, time: when, photo: one.photo });
        changed();
        showQueue();
      });
      line.append(back);
    }
    return line;
  }

  async function showQueue(result = {}) {
    const waiting = await ShiftQueue.all().catch(() => []);
    const offline = !roomless && (!navigator.onLine || Boolean(result.offline));
    document.getElementById("waiting").replaceChildren(...waiting.map(waitingLine));
    document.getElementById("offline").hidden = !offline;
    document.getElementById("sign-in").hidden = result.outcome !== "sign in";
    document.getElementById("queue").hidden = !waiting.length && !offline;
  }

  async function report(done) {
    if (done && done.sent.length) {
      const last = done.sent[done.sent.length - 1];
      tell(Object.assign({}, last.answer, done.sent.length > 1 ? { sentence: `${done.sent.length} entries were sent. ` + last.answer.sentence } : {}));
      refreshBook();
    }
    await showQueue(done || {});
  }

  async function sync() {
    await report(await ShiftQueue.drain().catch(() => null));
    if ((await ShiftQueue.all().catch(() => [])).some((one) => !one.problem)) askForSync();
  }

  async function askForSync() {
    const worker = navigator.serviceWorker && await navigator.serviceWorker.ready;
    if (worker && worker.sync) worker.sync.register("shift").catch(() => undefined);
  }

  async function refreshBook() {
    const found = await ShiftQueue.fetchBook(data.train).catch(() => ({ offline: true }));
    if (found.outcome !== "book") return void showQueue(found);
    [book, token, data.person] = [found.book, found.token, found.person];
    setSkew(found.now_s * 1000 - Date.now());
    keepPages([location.pathname]);
    show();
  }

  /* ---- Keys ---- */
  function next(from) {
    const fields = [...inputs.values(), remark, save];
    const gauge = from.closest(".gauge");
    const at = fields.indexOf(gauge ? inputs.get(gauge.dataset.column) : from);
    fields[at + 1].focus();
  }

  ask.addEventListener("keydown", (event) => { if (event.key === "Escape") document.getElementById("look-again").click(); });
  form.addEventListener("keydown", (event) => {
    const target = event.target;
    if (event.key !== "Enter" || event.shiftKey || target.tagName === "BUTTON" || target.type === "file") return;
    event.preventDefault();
    next(target);
  });
  /* A question that comes or goes moves what stands below it. While a button is being pressed nothing may move: it would slip
     away from under the finger, and the press be lost. */
  function showSoon() {
    clearTimeout(pause);
    pause = setTimeout(() => { if (pressed) due = true; else show(); }, 0);
  }
  window.addEventListener("pointerdown", () => { pressed = true; }, true);
  ["pointerup", "pointercancel"].forEach((kind) => window.addEventListener(kind, () => {
    pressed = false;
    if (due) showSoon();
    due = false;
  }, true));
  form.addEventListener("focusout", (event) => {
    if (!inputs.has(event.target.name)) return;
    if (event.target.value.trim()) visited.add(event.target.name);
    showSoon();
  });
  form.addEventListener("input", (event) => {
    if (event.target === time) timeTouched = true;
    if (event.target.type === "file") return;
    if (!event.target.name.startsWith("reason.")) changed();
    clearTimeout(pause);
    pause = setTimeout(() => {
      if (inputs.has(event.target.name) && event.target.value.trim()) visited.add(event.target.name);
      showSoon();
    }, PAUSE_MS);
  });
  form.addEventListener("submit", (event) => { event.preventDefault(); trySave(); });
  photo.addEventListener("change", takePicture);
  document.getElementById("look-again").addEventListener("click", () => {
    ask.hidden = true;
    focusOn(show().find((finding) => finding.severity === "ask"));
  });
  document.getElementById("keep").addEventListener("click", () => { ask.hidden = true; confirmed = "yes"; trySave(); });

  /* ---- Beginning ---- */
  function keepPages(paths) {
    const worker = navigator.serviceWorker && navigator.serviceWorker.controller;
    if (worker) worker.postMessage({ keep: paths, mine: location.pathname });
  }

  async function begin() {
    recallSkew();
    setInterval(tick, TICK_MS);
    if (navigator.serviceWorker) {
      navigator.serviceWorker.addEventListener("message", (event) => report(event.data.done));
      await navigator.serviceWorker.register("/shift-worker.js").catch(() => undefined);
      navigator.serviceWorker.ready.then((found) => { if (found.active) found.active.postMessage({ keep: data.siblings, mine: location.pathname }); });
    }
    restore(await ShiftQueue.draftOf(data.train).catch(() => null));
    show();
    if (matchMedia("(pointer: fine)").matches && answer.hidden && inputs.size && document.getElementById("draft-time").hidden) inputs.values().next().value.focus();
    window.addEventListener("online", sync);
    window.addEventListener("offline", () => showQueue());
    document.addEventListener("visibilitychange", () => { if (!document.hidden) sync(); });
    setInterval(async () => {
      if ((await ShiftQueue.all().catch(() => [])).some((one) => !one.problem)) sync();
      else if (!document.getElementById("queue").hidden) showQueue(); /* another tab, or the worker, may have sent it */
    }, TICK_MS);
    await sync();
    form.dataset.ready = "yes";
    refreshBook();
  }

  begin();
}());
