/* Entries that wait on this device, and drafts: in IndexedDB, so that they outlive the browser. Used by the page and by the
   service worker. An entry leaves the queue only when the server has answered for it; its key keeps it single. */
(function (scope) {
  "use strict";

  const NAME = "skidbook-shift", ENTRIES = "entries", DRAFTS = "drafts";
  const PATIENCE_MS = 60000, FIRST_TRY_S = 90;
  let opened = null, busy = false;

  function open() {
    opened = opened || new Promise((resolve, reject) => {
      const request = indexedDB.open(NAME, 1);
      request.onupgradeneeded = () => {
        request.result.createObjectStore(ENTRIES, { keyPath: "key" });
        request.result.createObjectStore(DRAFTS, { keyPath: "train" });
      };
      request.onsuccess = () => resolve(request.result);
      request.onerror = () => reject(request.error);
    });
    return opened;
  }

  /* One transaction over both stores; `work` gives back the request whose result is wanted, if any. */
  async function transact(mode, work) {
    const database = await open();
    return new Promise((resolve, reject) => {
      const transaction = database.transaction([ENTRIES, DRAFTS], mode, { durability: "strict" });
      const request = work(transaction.objectStore(ENTRIES), transaction.objectStore(DRAFTS));
      transaction.oncomplete = () => resolve(request ? request.result : undefined);
      transaction.onerror = transaction.onabort = () => reject(transaction.error);
    });
  }

  const all = async () => (await transact("readonly", (entries) => entries.getAll()))
    .sort((one, other) => one.saved_s - other.saved_s);
  const remove = (key) => transact("readwrite", (entries) => { entries.delete(key); });
  const update = (record) => transact("readwrite", (entries) => { entries.put(record); });
  const draftOf = (train) => transact("readonly", (entries, drafts) => drafts.get(train));
  const keepDraft = (draft) => transact("readwrite", (entries, drafts) => { drafts.put(draft); });
  const dropDraft = (train) => transact("readwrite", (entries, drafts) => { drafts.delete(train); });

  /* The entry is in the queue and the draft is gone, or neither. */
  const put = (record) => transact("readwrite", (entries, drafts) => {
    entries.put(record);
    drafts.delete(record.train);
  });

  function bodyOf(record) {
    const body = new FormData();
    Object.entries(record.form).forEach(([name, value]) => body.append(name, value));
    body.append("key", record.key);
    body.append("entered_by", record.person);
    if (record.waited) body.append("queued", "yes");
    if (record.photo) body.append("photo", record.photo, "photo");
    return body;
  }

  const signedOut = (response) => response.type === "opaqueredirect" || response.status === 401;

  /* The rules as they are now, with a token for sending. */
  async function fetchBook(train) {
    const response = await fetch(`/trains/${train}/shift/book`, { redirect: "manual", cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) });
    if (signedOut(response)) return { outcome: "sign in" };
    if (!response.ok) return { outcome: response.status >= 500 ? "later" : "forbidden" };
    return Object.assign(await response.json(), { outcome: "book" });
  }

  async function post(record, token, patience_ms) {
    return fetch(`/trains/${record.train}/shift`, {
      method: "POST", body: bodyOf(record), redirect: "manual", cache: "no-store",
      headers: { accept: "application/json", "x-form-token": token }, signal: AbortSignal.timeout(patience_ms),
    });
  }

  /* Hand one entry in. Answers what came of it: sent, asked, refused, sign in, forbidden, later (also without a connection). */
  async function send(record, token = "", patience_ms = PATIENCE_MS) {
    try {
      let response = token ? await post(record, token, patience_ms) : null;
      if (!response || response.status === 403) {
        const book = await fetchBook(record.train);
        if (book.outcome !== "book") return book;
        response = await post(record, book.token, patience_ms);
      }
      if (signedOut(response)) return { outcome: "sign in" };
      if (response.ok) return { outcome: "sent", answer: await response.json() };
      if (response.status === 422 || response.status === 413) return await refusal(response);
      return { outcome: [403, 404].includes(response.status) ? "forbidden" : "later" };
    } catch {
      return { outcome: "later", offline: true };
    }
  }

  async function refusal(response) {
    const kind = response.headers.get("content-type") || "";
    if (!kind.includes("json")) return { outcome: "refused", errors: { entry: "The photo cannot be taken." }, findings: [] };
    return response.json();
  }

  /* Send what waits, the oldest first; an entry that its page is just handing in is left to it. Answers the last outcome, and every entry that was sent with its answer. */
  async function drain() {
    const work = async () => {
      const done = { outcome: "nothing", sent: [] };
      for (const record of await all()) {
        if (record.problem || (!record.waited && Math.abs(Date.now() / 1000 - record.saved_s) < FIRST_TRY_S)) continue;
        const result = await send(Object.assign(record, { waited: true }));
        if (done.outcome !== "later" || result.offline || result.outcome === "sign in") [done.outcome, done.offline] = [result.outcome, Boolean(result.offline)];
        if (result.outcome === "sent") {
          await remove(record.key);
          done.sent.push({ record, answer: result.answer });
        } else if (result.outcome === "refused" || result.outcome === "forbidden") {
          const words = Object.values(result.errors || {}).join(" ");
          await update(Object.assign(record, { problem: words || "You may not enter readings there." }));
        } else if (result.offline || result.outcome === "sign in") {
          break; /* the others would fare no better; what a server cannot take just now must not keep them back */
        }
      }
      return done;
    };
    if (navigator.locks) {
      return navigator.locks.request("skidbook-shift", { ifAvailable: true }, (lock) => (lock ? work() : null));
    }
    if (busy) return null;
    busy = true;
    try { return await work(); } finally { busy = false; }
  }

  scope.ShiftQueue = { all, put, remove, update, draftOf, keepDraft, dropDraft, send, drain, fetchBook };
}(self));
