// The page. What comes from a log is set as text, never as markup; the report is a page of its own in a
// frame that runs nothing. Nothing is stored.
"use strict";
(async () => {
  const byId = (id) => document.getElementById(id);
  const unpacked = (id) => new Response(new Blob([Uint8Array.from(atob(byId(id).textContent), (c) => c.charCodeAt(0))]).stream()
    .pipeThrough(new DecompressionStream("gzip"))).text();
  if (typeof WebAssembly !== "object" || typeof DecompressionStream !== "function") {
    byId("status").hidden = true;
    byId("too-old").hidden = false;
    return;
  }
  const [words, source] = await Promise.all([unpacked("words").then(JSON.parse), unpacked("worker")]);
  const tongues = ["en", "de", "nl", "fr", "da", "sv"];
  let tongue = tongues.find((t) => (navigator.language ?? "").toLowerCase().startsWith(t)) ?? "en";
  // A bar parts what is said of one, by n, from what is said of several.
  const say = (key, values = {}) => {
    const forms = (words[key]?.[tongues.indexOf(tongue)] ?? words[key]?.[0] ?? key).split("|");
    return forms[Number(values.n) === 1 ? 0 : forms.length - 1].replace(/\{(\w+)\}/g, (_, name) => values[name] ?? "");
  };
  const colon = () => tongue === "fr" ? "\u00a0: " : ": ";

  // The program in its worker. A classic worker made of text also starts where the page is a file.
  const packed = byId("program").textContent;
  let worker, ready, next = 1;
  const waiting = new Map();

  function start() {
    const address = URL.createObjectURL(new Blob([source], { type: "text/javascript" }));
    const mine = worker = new Worker(address);
    ready = new Promise((resolve, reject) => {
      mine.onmessage = ({ data }) => {
        if (mine !== worker) return;
        if (data.ready) {
          URL.revokeObjectURL(address);
          data.error ? reject(new Error(data.error)) : resolve();
        } else if (data.ended) {
          stopped(new Error(say("ended")));
        } else if (data.finds) {
          byId("waiting").querySelector("span").textContent = data.pass > 1 ? say("gone-through", { n: data.finds.toLocaleString(tongue), pass: data.pass })
            : say("read-so-far", { n: data.finds.toLocaleString(tongue) });
        } else {
          const one = waiting.get(data.id);
          waiting.delete(data.id);
          if (one) data.answer.error ? one.reject(new Error(data.answer.error)) : one.resolve(data.answer);
        }
      };
      mine.onerror = (event) => { reject(new Error(event.message || say("no-worker"))); };
    });
    ready.catch(() => {});
    worker.postMessage({ start: packed, served: document.characterSet === "UTF-8" });
    handed = null;
  }

  function stopped(error) {
    worker.terminate();
    for (const one of waiting.values()) one.reject(error);
    waiting.clear();
    start();
  }

  // ask hands the files over only when they are not yet there.
  let handed = null;
  async function ask(request) {
    await ready;
    const id = next++;
    const files = handed === opened ? [] : opened;
    handed = opened;
    return new Promise((resolve, reject) => {
      waiting.set(id, { resolve, reject });
      worker.postMessage({ id, ask: request, files });
    });
  }

  // What lies open.
  let opened = [], chosen = "", maps = {}, mended = {}, checked = null, run = 0; // maps, mended, settings: by log
  let photoOf = {}; // the number of the find that a photo is of, by the name of its file
  let logs = [], registerText = "", profile = "", settings = {}, outlines = new Map(); // outlines by field
  const several = () => chosen === "*", sheetOf = {}; // the one sheet that is read, by log

  const today = () => {
    const d = new Date();
    return [d.getFullYear(), d.getMonth() + 1, d.getDate()].map((n) => String(n).padStart(2, "0")).join("-");
  };
  const options = () => ({ level: byId("level").value, dateOrder: byId("order").value, unit: byId("unit").value, logLanguage: byId("written").value,
    sheet: several() ? "" : sheetOf[chosen] ?? "", encoding: several() || !isText(chosen) ? "" : byId("encoding").value, asOf: today(), language: tongue, steps: { understood: quoted(say("step-understood")), mend: quoted(say("step-mend")) } });
  // What a person has said of a log goes with every request, so that every file is made of the one mended log.
  const acceptedOf = (name) => mended[name]?.proposals.filter((p) => p.accepted) ?? [];
  const stated = (name) => ({ columns: maps[name], settings: settings[name],
    accepted: acceptedOf(name).length ? { ...mended[name], proposals: acceptedOf(name).map(({ own, ...p }) => p) } : undefined });
  const request = (what, more = {}, name = chosen) => ({ do: what, options: options(), profile,
    ...(name === "*" ? { names: logs, each: Object.fromEntries(logs.map((one) => [one, stated(one)])) } : { name, ...stated(name) }),
    outlines: [...outlines].map(([field, ring]) => ({ field, ring })), photos: name === "*" ? {} : photoOf, ...more });
  const inView = () => several() ? logs : [chosen]; // the logs that are worked on

  const element = (name, text = "", kind = "") => {
    const e = document.createElement(name);
    e.textContent = text;
    if (kind) e.className = kind;
    return e;
  };

  function status(text) { byId("status").textContent = text; }
  function fail(error) {
    busy(false);
    status("");
    if (error.left) return; // nobody waits for it any more
    byId("trouble").firstElementChild.textContent = say("trouble", { why: error.message === "too long" ? say("too-long") : error.message });
    byId("trouble").hidden = false;
  }
  let slow;
  function busy(on) {
    clearTimeout(slow);
    byId("waiting").hidden = true;
    if (on) slow = setTimeout(() => { byId("waiting").querySelector("span").textContent = ""; byId("waiting").hidden = false; }, 400);
  }

  // work does one thing at a time and shows that it goes on.
  async function work(text, task) {
    byId("trouble").hidden = true;
    status(text);
    busy(true);
    try {
      return await task();
    } catch (error) {
      fail(error);
      throw error;
    } finally {
      busy(false);
    }
  }
  // lengthy asks what may take long of a large log. Whoever goes elsewhere meanwhile ends it.
  let since = 0;
  async function lengthy(text, what) {
    since = performance.now();
    try {
      return await work(text, () => ask(what));
    } finally {
      since = 0;
    }
  }
  const quietly = (promise) => promise.catch(() => {});

  // Steps.
  const steps = [...document.querySelectorAll("#steps button")];
  const stepOf = (name) => steps.find((b) => b.dataset.step === name);
  let unread = false; // something was accepted since the log was last checked
  function go(step, focus = true, stay = false) {
    if (unread && step !== "mend") {
      unread = false;
      return quietly(check(chosen, step));
    }
    if (step !== here()) status("");
    if (since && performance.now() - since > 3000 && step !== here()) stopped(Object.assign(new Error(""), { left: true }));
    if (location.hash !== "#" + step) location.hash = step;
    for (const b of steps) b.dataset.step === step ? b.setAttribute("aria-current", "step") : b.removeAttribute("aria-current");
    steps.find((b) => b.dataset.step === step).scrollIntoView({ inline: "nearest", block: "nearest" });
    for (const s of document.querySelectorAll("main > section")) s.hidden = s.id !== step;
    if (focus) byId(step).querySelector("h1")?.focus();
    const after = steps.slice(steps.indexOf(stepOf(step)) + 1).find((b) => !b.disabled);
    byId("next").hidden = step === "open" || !after;
    if (after) byId("next").firstElementChild.textContent = `${say("next")}${colon()}${after.textContent}`;
    byId("next").firstElementChild.dataset.to = after?.dataset.step;
    if (step === "understood") quietly(plan());
    if (step === "mend") quietly(mend());
    if (step === "look") fit();
    if (step === "take") accepted();
    if (step === "hand") quietly(hand());
    if (step === "where") quietly(where());
    if (step === "season") quietly(season());
    if (step === "back") back();
    if (!stay) scrollTo(0, 0);
  }
  // again puts new controls in the place of old ones. Who is at one of them stays there, with what was typed meanwhile.
  function again(holder, ...parts) {
    const at = holder.contains(document.activeElement) ? document.activeElement : null, typed = at?.type === "text" ? at.value : null;
    holder.replaceChildren(...parts);
    const next = at && [...holder.querySelectorAll("select, input")].find((one) => one.dataset.of && one.dataset.of === at.dataset.of);
    if (!next) return;
    next.focus({ preventScroll: true });
    if (typed === null || typed === next.value) return;
    next.value = typed;
    next.addEventListener("blur", () => next.dispatchEvent(new Event("change")), { once: true });
  }
  const here = () => document.querySelector("#steps [aria-current]").dataset.step;
  for (const b of steps) b.addEventListener("click", () => go(b.dataset.step));
  // Back and forward go from step to step; leaving asks first, for nothing is kept.
  addEventListener("hashchange", () => {
    const b = stepOf(location.hash.slice(1) || "open");
    if (b && !b.disabled && b.dataset.step !== here()) go(b.dataset.step);
  });
  window.onbeforeunload = (event) => { if (opened.length) event.preventDefault(); };

  // Opening. What lies beside a log - photos, the register, outlines, a profile - joins what is open.
  const kindOf = (file) => {
    if (/\.(jpe?g|png)$/i.test(file.name)) return "picture";
    if (/^findslip\.register.*\.jsonl$/i.test(file.name)) return "register";
    if (/\.findslip-settings\.json$/i.test(file.name)) return "settings";
    if (/\.findslip-profile\.json$/i.test(file.name)) return "profile";
    if (/\.geojson$/i.test(file.name) && outlinesOf(file.bytes)) return "outlines";
    return "log";
  };
  // outlinesOf reads a map file that holds outlines and nothing else.
  function outlinesOf(bytes) {
    if (bytes.length > 5e6) return null;
    try {
      const map = JSON.parse(new TextDecoder().decode(bytes)), list = [];
      if (map.findslip || !map.features?.length) return null;
      for (const f of map.features) {
        const ring = f.geometry?.type === "Polygon" ? f.geometry.coordinates[0] : f.geometry?.type === "MultiPolygon" ? f.geometry.coordinates[0][0] : null;
        const name = f.properties?.field ?? f.properties?.name;
        if (!ring || !name) return null;
        list.push([String(name), ring.slice(0, -1).map((p) => [p[0], p[1]])]);
      }
      return list;
    } catch {
      return null;
    }
  }
  const equal = (f, g) => f.bytes.length === g.bytes.length && f.bytes.every((b, i) => b === g.bytes[i]);
  async function open(list) {
    const files = [];
    for (const file of list) {
      try {
        files.push({ name: unique(file.name.replaceAll("/", "_"), files), bytes: new Uint8Array(await file.arrayBuffer()) });
      } catch {
        return fail(new Error(say("unreadable", { name: file.name })));
      }
    }
    if (!files.length) return fail(new Error(say("no-file")));
    for (const f of files) f.kind = kindOf(f);
    const twice = files.filter((f, i) => [...opened, ...files.slice(0, i)].some((g) => g.name !== f.name && equal(f, g)));
    for (const f of twice) files.splice(files.indexOf(f), 1);
    byId("twice").textContent = twice.map((f) => say("twice", { name: f.name })).join(" ");
    const fresh = files.filter((f) => f.kind === "log").map((f) => f.name);
    opened = [...opened.filter((f) => !files.some((g) => g.name === f.name) && f.kind !== "came"), ...files];
    for (const name of fresh) forget(name);
    for (const f of files) {
      if (f.kind === "register") registerText = new TextDecoder().decode(f.bytes);
      if (f.kind === "profile") profile = f.name;
      if (f.kind === "outlines") for (const [field, ring] of outlinesOf(f.bytes)) outlines.set(field, ring);
    }
    if (!opened.some((f) => f.name === profile)) profile = "";
    if (!found.length) for (const f of files) if (/\.csv$/i.test(f.name) && f.bytes.length < 1e6) writtenHere(f);
    logs = opened.filter((f) => f.kind === "log").map((f) => f.name);
    for (const f of files.filter((f) => f.kind === "settings")) {
      const log = logs.find((name) => name.replace(/\.[^.]*$/, "") === f.name.replace(/\.findslip-settings\.json$/i, "")) ?? (logs.length === 1 ? logs[0] : "");
      if (log) settings[log] = JSON.parse(new TextDecoder().decode(f.bytes));
    }
    shelf();
    if (registerText && fresh.length && logs.length > 1 && await tookBack(fresh)) return;
    if (fresh.length) await check(logs.length > 1 && fresh.length > 1 ? "*" : fresh[0]);
    else if (chosen) await check(chosen, "open");
    else if (opened.length) status(say("log-wanted"));
  }
  // tookBack puts an answer that lies among the logs where answers belong, and reports whether there was one.
  async function tookBack(fresh) {
    for (const name of fresh) {
      const others = logs.filter((one) => one !== name), small = opened.find((f) => f.name === name).bytes.length < 3e6;
      if (!small || !others.length) continue;
      const ours = { ...request("receive", {}, "*"), names: others, each: Object.fromEntries(others.map((one) => [one, stated(one)])) };
      const came = await work(say("reading", { name }), () => ask({ ...ours, answer: name, register: registerText }))
        .then((answer) => JSON.parse(answer.text), () => ({}));
      if (came.kind !== "answer") continue;
      opened = opened.map((f) => f.name === name ? { ...f, kind: "came" } : f);
      logs = others;
      await check(logs.length > 1 ? "*" : logs[0], "back");
      returned = { kind: came.kind, of: came.of || chosen, list: came.proposals, labels: came.labels, name };
      answers();
      return true;
    }
    return false;
  }
  function forget(name) {
    for (const of of [maps, settings, mended, given, sheetOf, allSheets]) delete of[name];
    photoOf = {};
    returned = null;
  }
  // away takes files away.
  function away(names) {
    if (opened.some((f) => f.byHand && names.includes(f.name))) [found, kept] = [[], 0], foundList();
    opened = opened.filter((f) => !names.includes(f.name));
    for (const name of names) forget(name);
    if (!opened.some((f) => f.kind === "register")) registerText = "";
    if (!opened.some((f) => f.kind === "outlines")) outlines.clear();
    if (!opened.some((f) => f.name === profile)) profile = "";
    logs = logs.filter((name) => !names.includes(name));
    if (logs.length) return quietly(check(logs.includes(chosen) ? chosen : logs.length > 1 ? "*" : logs[0], "open"));
    chosen = "";
    run++; // what is still being read of it is shown no more
    for (const b of steps) b.disabled = b.dataset.step !== "open";
    shelf();
    status("");
  }
  // shelf lists what lies open.
  function shelf() {
    const names = logs.length > 1 ? ["*", ...logs] : logs;
    byId("files").replaceChildren(...names.map((name) => {
      const item = element("li"), button = element("button", name === "*" ? say("together") : name);
      button.type = "button";
      button.dataset.name = name;
      button.setAttribute("aria-pressed", String(name === chosen));
      button.addEventListener("click", () => quietly(check(name)));
      item.append(button);
      if (name !== "*") item.append(taker([name], name));
      return item;
    }));
    byId("files").hidden = !names.length;
    const of = (kind) => opened.filter((f) => f.kind === kind).map((f) => f.name);
    const beside = [of("picture").length && [say("beside-pictures", { n: of("picture").length }), of("picture")], registerText && [say("beside-register"), of("register")],
      Object.keys(settings).length && [say("beside-settings"), []], outlines.size && [say("beside-outlines", { n: outlines.size }), of("outlines")],
      profile && [say("beside-profile", { name: profile }), [profile]]].filter(Boolean);
    byId("beside").replaceChildren(...beside.map(([text, names]) => {
      const item = element("li", text + " ");
      if (names.length) item.append(taker(names, text));
      return item;
    }));
    byId("beside").hidden = !beside.length;
  }
  // taker is a button that takes files away.
  function taker(names, text) {
    const button = element("button", "×", "away");
    button.type = "button";
    button.setAttribute("aria-label", say("take-away", { name: text }));
    button.addEventListener("click", () => away(names));
    return button;
  }
  function unique(name, files) {
    let one = name;
    for (let i = 2; files.some((f) => f.name === one); i++) one = name.replace(/(\.[^.]*)?$/, ` (${i})$1`);
    return one;
  }

  // stay: the log is read again under the hands of somebody who goes on with the same step.
  async function check(name, step = "look", stay = false) {
    chosen = name;
    const mine = ++run;
    if (!stay) for (const id of ["plan", "asks", "proposals"]) byId(id).replaceChildren(); // of what lay open before
    shelf();
    const shown = several() ? say("together") : name;
    const answer = await work(say("checking", { name: shown }), () => ask(request("check", { brief: true })));
    if (mine !== run) return;
    checked = { ...JSON.parse(answer.text), page: new TextDecoder().decode(answer.content) };
    standing();
    byId("report").title = say("report-of", { name: shown });
    byId("report").srcdoc = plainly(checked.page);
    for (const b of steps) b.disabled = false;
    stepOf("understood").disabled = !inView().some(isSheet);
    if (here() === "understood" && stepOf("understood").disabled) step = "look";
    landsOf = "";
    quietly(photos(mine));
    byId("encoding-line").hidden = several() || !isText(name);
    byId("take-mark").hidden = !/\.xlsx$/i.test(name);
    stay &&= here() === step;
    go(step, !stay, stay);
    status(say("checked", { name: shown }));
  }

  // standing says for whom the log is good enough.
  const levelOf = { landowner: "log", recorder: "full" };
  function standingFor(whom) {
    const { finds = 0, good = 0, lacks = [] } = checked.levels?.find((l) => l.level === (levelOf[whom] ?? "log")) ?? {};
    const wrong = checked.report.summary.errors;
    if (!finds) return whom === "landowner" ? say("no-finds") : "";
    const text = whom === "expert" ? say("ready-expert", { n: pictured, of: finds }) : whom === "public" ? say("ready-public")
      : lacks.length ? say("ready-no", { n: good, of: finds, lacks: lacks.join(", ") }) : wrong ? "" : say("ready-yes");
    return [text, wrong && levelOf[whom] ? say("ready-wrong") : ""].filter(Boolean).join(" ");
  }
  function standing() {
    byId("ready").replaceChildren(...Object.keys(levelOf).map((whom) => {
      const line = element("p"), text = standingFor(whom);
      line.append(element("b", say("for-" + whom)), " " + text);
      line.hidden = !text;
      return line;
    }));
    byId("to-understood").hidden = !inView().some(isSheet);
  }
  // dangers are what nobody may touch, with the finds.
  const grave = /^(ordnance|live-|human-remains|aircraft)/;
  const dangers = (copied) => (checked.report.groups ?? []).filter((g) => grave.test(g.code))
    .map((g) => [g, [...new Set(g.examples.map((e) => e.find).filter((f) => copied.includes(f)))].join(", ")])
    .filter(([, finds]) => finds).map(([g, finds]) => say("danger-in", { finds, say: sayOf[g.code] ?? g.say }));

  const isText = (name) => /\.(csv|tsv|txt)$/i.test(name);
  const isSheet = (name) => /\.(xlsx|xlsm|csv|tsv|txt|ods|html?)$/i.test(name);

  // The frame is as high as what is in it, and its letters are as large as those of the page.
  const frame = byId("report");
  function asHigh(one) {
    const body = one.contentDocument?.body;
    if (!body) return;
    one.contentDocument.documentElement.style.fontSize = getComputedStyle(document.documentElement).fontSize;
    one.style.height = `${Math.ceil(body.getBoundingClientRect().height + 48)}px`;
  }
  function fit() {
    if (!byId("look").hidden) asHigh(frame);
  }
  frame.addEventListener("load", () => {
    fit();
    const inner = frame.contentDocument;
    if (!inner?.body) return;
    new ResizeObserver(fit).observe(inner.body);
    takeDrops(inner);
  });
  addEventListener("resize", fit);
  byId("print").addEventListener("click", () => frame.contentWindow.print());
  byId("keep").addEventListener("click", () => keep(new TextEncoder().encode(plainly(checked.page)), base() + "-report.html"));

  const quoted = (text) => { const [open, close] = { de: "„“", nl: "‘’", fr: "«»", da: "»«", sv: "””" }[tongue] ?? "“”"; return open + text + close; };
  // plainly takes the codes out of sight.
  const plainly = (html) => html.replace("</head>", "<style>.code { display: none; }</style></head>");

  // How the sheet was understood.
  const allSheets = {}; // by log, as they were seen when all were read
  async function plan() {
    const parts = [], mine = run;
    for (const name of inView().filter(isSheet)) {
      const answer = await work(say("reading", { name }), () => ask(request("plan", {}, name)));
      const { columns, fields } = JSON.parse(answer.text);
      const own = { permission: say("field-land"), "dating.verbatim": say("field-age"), "media.1": say("field-photo"), position: say("field-position") };
      const labels = fieldNames = new Map(fields.map((f) => [f.field, own[f.field] ?? f.label]));
      if (several()) parts.push(element("h2", name, "of"));
      allSheets[name] = [...new Set([...allSheets[name] ?? [], ...[...(columns.tables ?? [columns]).map((t) => t.sheet), ...columns.sheetsBeside ?? []].filter(Boolean)])];
      parts.push(...(columns.tables ?? [columns]).flatMap((t) => [...told(t), columnsOf(t, columns, labels, name)]),
        ...(columns.sheetsBeside ?? []).map((name) => element("p", say("sheet-beside", { name }))));
    }
    const asks = [], sheets = allSheets[chosen] ?? [];
    byId("sheet-line").hidden = several() || sheets.length < 2;
    again(byId("sheet"), ...["", ...sheets].map((name) => Object.assign(element("option", name || say("all-sheets")), { value: name, selected: name === (sheetOf[chosen] ?? "") })));
    for (const name of inView().filter(isSheet)) asks.push(...await questions(name));
    if (mine !== run) return; // read anew meanwhile
    again(byId("plan"), ...parts);
    again(byId("asks"), ...asks);
    byId("asked").hidden = !asks.length;
    status("");
  }
  // What else was seen of a table: its sheet, and the rows that are no finds.
  function told(t) {
    const rows = (list) => (list ?? []).slice(0, 12).join(", ") + ((list ?? []).length > 12 ? " …" : "");
    return [element(several() ? "h3" : "h2", t.sheet ?? ""), ...[["rows-finds", t.rowsOfFinds ? [t.rowsOfFinds] : []], ["rows-headings", t.rowsOfHeadings], ["rows-sections", t.rowsOfSections],
      ["rows-totals", t.rowsOfTotals], ["rows-notes", t.rowsOfNotes]].filter(([, list]) => list?.length).map(([key, list]) => element("p", say(key, { n: rows(list) }), "small"))];
  }
  function columnsOf(t, map, labels, log) {
    const table = element("table"), head = element("tr");
    for (const text of [say("heading"), say("samples"), say("taken-for")]) {
      const th = element("th", text);
      th.scope = "col";
      head.append(th);
    }
    table.append(head);
    for (const c of t.columns) {
      const row = element("tr"), cell = element("td"), select = element("select"), name = c.heading || c.column;
      const th = element("th", name);
      th.scope = "row";
      select.setAttribute("aria-label", say("taken-for-of", { heading: name }));
      select.dataset.of = [log, t.sheet, c.column, name].join("|");
      const all = new Map([["", say("kept")], ...labels]);
      if (!all.has(c.field)) all.set(c.field, labels.get(c.field.replace(/\.verbatim$/, "")) ?? labels.get(c.field + ".verbatim") ?? say("field-own", { name }));
      for (const [value, label] of all) {
        const o = element("option", label);
        o.value = value;
        o.selected = value === c.field;
        select.append(o);
      }
      select.addEventListener("change", () => {
        c.field = select.value;
        maps[log] = map;
        quietly(check(chosen, "understood", true));
      });
      cell.append(select);
      if (c.sure && c.sure !== "certain" && c.field) cell.append(element("small", say("unsure")));
      row.append(th, element("td", (c.samples ?? []).join(" · "), "samples"), cell);
      table.append(row);
    }
    return table;
  }

  // Proposals, of each log. What was accepted stays so when a log is read anew.
  const proposedFor = {};
  let sayOf = {}; // what codes say in the language of the page, where that is not English
  async function mend() {
    for (const name of inView()) {
      const key = JSON.stringify([maps[name], settings[name], options()]);
      if (mended[name] && proposedFor[name] === key) continue;
      const answer = await work(say("reading", { name }), () => ask(request("propose", {}, name)));
      const before = acceptedOf(name);
      mended[name] = JSON.parse(answer.text);
      Object.assign(sayOf, JSON.parse(new TextDecoder().decode(answer.content)));
      proposedFor[name] = key;
      for (const old of before) {
        const same = mended[name].proposals.filter((p) => ["part", "record", "find", "nth", "pointer", "before"].every((k) => p[k] === old[k]));
        const one = same.find((p) => p.after === old.after);
        if (one && !old.own) one.accepted = true;
        else if (same.length) mended[name].proposals.push({ ...same[0], after: old.after, accepted: true, own: true });
      }
    }
    status("");
    proposed();
  }
  function proposed() {
    const parts = [];
    for (const name of inView()) {
      const list = mended[name]?.proposals ?? [], groups = new Map(), rules = new Map();
      for (const p of list) {
        const key = p.choice || p.id;
        groups.set(key, [...groups.get(key) ?? [], p]);
      }
      for (const g of groups.values()) rules.set(g[0].rule, [...rules.get(g[0].rule) ?? [], g]);
      if (several() && list.length) parts.push(element("h2", name, "of"));
      for (const [rule, items] of rules) parts.push(...ofOneKind(rule, items));
    }
    byId("none").hidden = parts.length > 0;
    byId("proposals").replaceChildren(...parts);
    accepted();
  }
  const decide = () => { unread = true; proposed(); };
  // ofOneKind are the proposals of one kind, with buttons that answer all of them alike: where each has one answer, or
  // where the answers differ by the order of day and month.
  function ofOneKind(rule, items) {
    const list = element("ol"), act = element("p", "", "act"), some = items.filter((g) => !g[0].own && g[0].after);
    list.append(...items.map(proposal));
    const orders = rule === "date-order-unknown" ? ["dmy", "mdy"] : some.every((g) => g.filter((p) => !p.own).length === 1) ? [""] : [];
    if (some.length > 1) act.append(...orders.map((order, nth) => {
      const all = element("button", order ? say("all-of", { n: some.length, what: say(order) }) : say("accept-these", { n: some.length }));
      all.type = "button";
      const chosenAll = some.every((g) => g[nth]?.accepted);
      all.dataset.all = `${rule} ${nth}`;
      all.setAttribute("aria-pressed", String(chosenAll)); // pressed again, it takes back what it said
      all.addEventListener("click", () => {
        for (const g of some) for (const p of g) p.accepted = !chosenAll && p === g[nth] && !p.own;
        decide();
        [...byId("proposals").querySelectorAll("[data-all]")].find((b) => b.dataset.all === all.dataset.all)?.focus();
      });
      return all;
    }));
    if (!act.childElementCount) return [list];
    const one = element("details"), done = items.filter((g) => g.some((p) => p.accepted)).length;
    const seen = items.slice(0, 6).map(([p]) => `${p.cell ?? ""} “${p.before}”`).join(", ") + (items.length > 6 ? " …" : "");
    one.open = opens.has(rule) || items.length < 4;
    one.addEventListener("toggle", () => opens[one.open ? "add" : "delete"](rule));
    one.append(element("summary", say("one-by-one", { n: items.length, done })), list);
    return [element("p", reason(items[0][0])), element("p", seen, "small"), act, one];
  }
  const opens = new Set(); // kinds that are looked at one by one
  // reason is why something is proposed, in the language of the page as far as there are words.
  function reason(p) {
    const others = /^(\d+) other measures of the column lie between (\S+) and (.+)$/.exec(p.evidence ?? "");
    const evidence = others ? say("others-lie", { n: others[1], low: others[2], high: others[3] }) : tongue === "en" && p.evidence !== "the text alone" ? p.evidence : "";
    const why = sayOf[p.rule] ?? p.reason;
    return [`${why[0].toUpperCase()}${why.slice(1)}.`.replace(/([.!?])\.$/, "$1"), evidence, p.after ? "" : say("mend-open")].filter(Boolean).join(" ");
  }
  // A cell with what can stand in it: as it is, one of the proposals, or another text.
  function proposal(list) {
    const [p] = list, item = element("li"), name = `p-${p.id}-${inView().findIndex((n) => mended[n]?.proposals.includes(p))}`;
    const where = [p.cell && `${p.sheet ? p.sheet + " " : ""}${p.cell}`, p.number && say("find", { n: p.number })].filter(Boolean).join(", ");
    item.append(element("p", where), element("p", reason(p)));
    const line = element("fieldset", "", "act");
    line.append(element("legend", where, "hidden"));
    const option = (text, on, pick, kind = "") => {
      const label = element("label"), radio = element("input");
      Object.assign(radio, { type: "radio", name, checked: on });
      radio.addEventListener("change", pick);
      label.append(radio, " ", element("span", text, kind));
      line.append(label);
      return radio;
    };
    const only = (one) => { for (const other of list) other.accepted = other === one; unread = true; accepted(); };
    const asIs = option(`${p.before} (${say("as-is")})`, !list.some((q) => q.accepted), () => only(null));
    for (const q of list) if (q.after && !q.own) option(q.after, q.accepted, () => only(q));
    // Another text counts from its first letter, and nothing is drawn anew: what is typed next must find its box.
    let own = list.find((q) => q.own);
    const text = element("input"), mine = option("", Boolean(own?.accepted), () => { text.focus(); type(); });
    const type = () => {
      const typed = text.value.trim();
      if (typed && !own) {
        list.push(own = { ...p, own: true });
        mended[inView().find((n) => mended[n]?.proposals.includes(p))].proposals.push(own);
      }
      if (own) own.after = typed;
      (typed ? mine : asIs).checked = true;
      only(typed ? own : null);
    };
    text.type = "text";
    text.value = own?.after ?? "";
    for (const e of [text, mine]) e.setAttribute("aria-label", say("instead"));
    text.placeholder = say("instead");
    text.addEventListener("input", type);
    const other = element("span", "", "other");
    other.append(mine.parentNode, text);
    line.append(other);
    item.append(line);
    return item;
  }

  // Photos beside the finds that they are of: by the number that their name begins with, or as the finder says.
  let pictured = 0; // finds that have a photo
  async function photos(mine) {
    const list = opened.filter((f) => f.kind === "picture"), holder = byId("photos");
    for (const img of holder.querySelectorAll("img")) URL.revokeObjectURL(img.src);
    holder.replaceChildren();
    if (!list.length) return;
    const { pictures = {} } = JSON.parse((await ask(request("lands"))).text);
    if (mine !== run) return;
    if (!several()) photoOf = { ...pictures, ...photoOf };
    holder.append(element("h2", say("photos")), element("p", say("photos-more"), "small"), ...list.slice(0, 200).map((f) => {
      const figure = element("figure"), img = photoNamed(f.name), label = element("label", say("photo-of") + " "), number = element("input");
      Object.assign(number, { type: "text", size: 6, value: (several() ? pictures : photoOf)[f.name] ?? "", disabled: several() });
      number.addEventListener("change", () => { photoOf[f.name] = number.value.trim(); });
      label.append(number);
      figure.append(img, element("figcaption", f.name), label);
      return figure;
    }));
  }

  // Taking along.
  const base = () => several() ? "findslip" : chosen.replace(/\.[^.]*$/, "").replace(/\.findslip$/, "");
  function accepted() {
    byId("lost").replaceChildren();
    const n = inView().reduce((sum, name) => sum + acceptedOf(name).length, 0);
    for (const id of ["accepted", "mended"]) byId(id).textContent = n ? [say("with-accepted", { n }), /\.xlsx$/i.test(chosen) ? say("but-marked") : ""].join(" ") : "";
  }
  byId("to-take").addEventListener("click", () => go("take"));
  byId("next").firstElementChild.addEventListener("click", (event) => go(event.target.dataset.to));
  byId("to-understood").addEventListener("click", () => go("understood"));
  for (const b of document.querySelectorAll("[data-take]")) b.addEventListener("click", () => quietly(take(b)));
  async function take(button) {
    const to = button.dataset.take;
    const answer = await work(say("writing"), () => ask(to === "mark" ? request("mark") : request("convert", { to, brief: true })));
    const changed = to !== "mark" && inView().some((name) => acceptedOf(name).length);
    const file = base() + (changed ? "-" + say("corrected") : "") + button.dataset.end;
    keep(answer.content, file);
    const said = JSON.parse(answer.text);
    byId("lost").replaceChildren(...(said.lost ?? []).map((l) => element("li", say("lost", { file, what: l.what, n: l.times }))),
      ...(said.report?.verdict?.notChecked ?? []).map((c) => element("li", say("not-checked", { what: c.what }))));
  }
  function keep(content, name) {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([content], { type: "application/octet-stream" }));
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    status(say("handed", { name }));
  }
  // Handing on.
  let copy = null, landsOf = "";
  const audience = () => document.querySelector("[name=for]:checked").value;
  const needsNever = () => ["public", "expert"].includes(audience()) && !registerText;
  async function hand() {
    if (landsOf !== chosen) {
      const answer = await work(say("reading", { name: chosen }), () => ask(request("lands")));
      landsOf = chosen;
      status("");
      const legend = byId("lands").firstElementChild;
      const said = JSON.parse(answer.text);
      pictured = said.pictured ?? 0;
      byId("lands").replaceChildren(legend, ...said.lands.map((land) => {
        const label = element("label"), tick = element("input");
        tick.type = "checkbox";
        tick.value = land.id;
        label.append(tick, " " + land.name);
        return label;
      }));
    }
    offer();
  }
  function offer() {
    copy = null;
    byId("made").hidden = true;
    byId("preview").srcdoc = ""; // of another reader, or in another language
    for (const id of ["says", "seen", "seen-all"]) byId(id).replaceChildren();
    byId("lands").hidden = audience() !== "landowner" || byId("lands").querySelectorAll("input").length < 2;
    byId("never-line").hidden = !needsNever();
    byId("ask-line").hidden = audience() !== "expert";
    byId("no-land").hidden = audience() !== "landowner" || byId("lands").querySelector("input") !== null;
    byId("ready-for").textContent = standingFor(audience());
  }
  byId("handing").addEventListener("change", () => { passed = []; byId("trouble").hidden = true; offer(); });
  for (const radio of document.querySelectorAll("[name=for]")) radio.addEventListener("change", () => { byId("receiver").value = ""; });
  byId("register").addEventListener("change", () => quietly((async () => {
    const [file] = byId("register").files;
    if (file) registerText = await file.text();
    shelf();
  })()));
  byId("handing").addEventListener("submit", (event) => { event.preventDefault(); quietly(make()); });
  for (const b of document.querySelectorAll("[data-earlier]")) b.addEventListener("click", () => quietly(make(b.dataset.earlier)));

  async function make(earlier = "") {
    byId("never-line").classList.toggle("trouble", needsNever() && !byId("never").checked);
    if (needsNever() && !byId("never").checked) {
      fail(new Error(say("need-register")));
      byId("never-line").scrollIntoView({ block: "center" });
      return byId("never").focus();
    }
    const lands = [...byId("lands").querySelectorAll("input:checked")].map((i) => i.value);
    if (!byId("no-land").hidden) return fail(new Error(say("no-land")));
    if (!byId("lands").hidden && !lands.length) return fail(new Error(say("need-land")));
    const to = { landowner: "html", expert: "html", recorder: "xlsx", public: "geojson" }[audience()];
    const answer = await work(say("writing"), () => ask(request("share", { for: audience(), to, lands, earlier, pass: passed, register: registerText, receiver: byId("receiver").value.trim(),
      ...(audience() === "expert" ? { finds: numbersIn("ask-finds"), question: byId("question").value.trim() } : {}) })));
    const said = JSON.parse(answer.text);
    status("");
    byId("says").replaceChildren(...[
      ...dangers(said.numbers ?? []),
      ...(audience() === "expert" && several() && numbersIn("ask-finds").length && said.finds > numbersIn("ask-finds").length ? [say("same-numbers", { n: said.finds })] : []),
      ...(audience() === "expert" && answer.content && (said.words ?? []).some(photosIn) ? [say("photos-held")] : []),
      ...(said.apart ?? []).map((land) => say("apart", { land })),
      ...(said.stopped ?? []).map((why) => say("leaks", { why })),
      ...(said.told ?? []).map((why) => say("told", { why })),
      ...(answer.content ? [say("in-copy", { n: said.finds })] : [say("no-copy")]),
      ...(said.circles ?? []).map((c) => say("circle", { n: c.finds, km: c.kilometres.toLocaleString(tongue) })),
      ...leftOut(said.left),
      ...(said.held ?? []).map((why) => say("held", { why })),
      ...(said.words?.length ? [say("words-out", { n: said.words.length })] : []),
      ...(answer.content ? [say(`names-${audience()}`)] : []),
      ...(said.looked ? [say("looked")] : []),
    ].map((text) => element("li", text)));
    letGo(said.words ?? []);
    byId("made").hidden = false;
    byId("again").hidden = !(said.told?.length && !answer.content);
    byId("keeps").hidden = !answer.content;
    registerKept(false);
    const page = to === "html" && answer.content;
    byId("seen").hidden = Boolean(page) || !answer.content;
    if (said.rows && !page) seen(said);
    byId("preview").hidden = !page;
    byId("print-copy").hidden = !page;
    if (page) show(byId("preview"), answer.content, say("made-title"));
    copy = answer.content ? { content: answer.content, register: said.register, name: [say("copy-name", { whom: say(audience()) }), byId("receiver").value.trim(), ...landNames(lands)].join(" ").trim().replace(/[^\p{L}\p{N}]+/gu, "-") + "." + to } : null;
    byId("made").querySelector("h2").scrollIntoView();
  }
  // seen shows what a reader sees of a copy. What rows say alike is said once; the first column is the finder's alone.
  function seen({ heads, rows, numbers, finds }) {
    const told = heads.map((_, i) => rows.map((row) => row[i]).filter(Boolean)), alike = told.map((list) => list.length > 3 && list.length > rows.length / 2 && new Set(list).size === 1);
    const own = audience() === "public", kept = (row, n) => [...own ? [numbers[n]] : [], ...row.filter((_, i) => !alike[i])];
    byId("seen").replaceChildren(tableOf([...own ? [say("your-number")] : [], ...heads.filter((_, i) => !alike[i])], rows.map(kept)));
    byId("seen-all").textContent = [alike.includes(true) ? say("seen-alike", { what: heads.filter((_, i) => alike[i]).map((head) => head + colon() + told[heads.indexOf(head)][0]).join("; ") }) : "",
      finds > rows.length ? say("seen-more", { n: finds - rows.length }) : ""].filter(Boolean).join(" ");
  }
  function registerKept(kept) {
    for (const id of ["keep-copy", "print-copy"]) byId(id).disabled = !kept;
    byId("register-first").hidden = kept;
  }
  const bytesNamed = (name) => opened.find((f) => f.kind === "picture" && f.name === name.split(/[\\/]/).at(-1));
  const photosIn = (w) => (w.words ?? []).some(bytesNamed);
  // photoNamed shows a photo that lies open.
  function photoNamed(name) {
    const f = bytesNamed(name), img = element("img");
    if (!f) return null;
    img.src = URL.createObjectURL(new Blob([f.bytes], { type: /png$/i.test(f.name) ? "image/png" : "image/jpeg" }));
    img.alt = f.name;
    return img;
  }
  // letGo lists the words that were left out, to be read and, one by one, let go.
  let passed = [];
  function letGo(words) {
    byId("words-out").hidden = !words.length;
    byId("words-out").open = words.length > 0 && words.length <= 12;
    for (const img of byId("words-list").querySelectorAll("img")) URL.revokeObjectURL(img.src);
    byId("words-list").replaceChildren(...words.flatMap((w) => (w.words ?? []).map((text) => {
      const item = element("li"), label = element("label"), tick = element("input");
      tick.type = "checkbox";
      tick.value = text;
      label.append(tick, ` ${[w.find && say("find", { n: w.find }), w.of].filter(Boolean).join(", ")}${colon()}`, element("b", text));
      const photo = photoNamed(text);
      if (photo) label.append(photo);
      item.append(label);
      return item;
    })));
  }
  byId("words-go").addEventListener("click", () => {
    passed.push(...[...byId("words-list").querySelectorAll("input:checked")].map((i) => i.value));
    quietly(make());
  });
  const landNames = (lands) => audience() === "landowner" && lands.length === 1 ? [byId("lands").querySelector("input:checked").parentNode.textContent.trim()] : [];
  // numbersIn takes numbers apart, and names where the log has no numbers: a name has blanks in it, and perhaps a comma.
  const numbersIn = (id) => byId(id).value.split(byId(id).value.includes(";") ? ";" : ",").flatMap((part) => {
    const words = part.trim().split(/\s+/);
    return words.every((word) => /\d/.test(word)) ? words : words.join(" ");
  }).filter(Boolean);
  // leftOut groups what is left out by the reason.
  function leftOut(list = []) {
    const by = new Map();
    for (const text of list) {
      const at = text.lastIndexOf(": "), why = text.slice(at + 2);
      by.set(why, [...by.get(why) ?? [], text.slice(0, at)]);
    }
    return [...by].map(([why, finds]) => say("left-out", { why: words["why-" + why.replaceAll(" ", "-")] ? say("why-" + why.replaceAll(" ", "-")) : why, n: finds.length, finds: finds.slice(0, 5).join(", ") + (finds.length > 5 ? " …" : "") }));
  }
  byId("preview").addEventListener("load", () => asHigh(byId("preview")));
  byId("keep-register").addEventListener("click", () => {
    keep(new TextEncoder().encode(copy.register), "findslip.register.jsonl");
    registerText = copy.register; // the next copy is compared with this one
    shelf();
    registerKept(true);
  });
  byId("keep-copy").addEventListener("click", () => keep(copy.content, copy.name));
  byId("print-copy").addEventListener("click", () => byId("preview").contentWindow.print());

{{steps}}
  byId("template").addEventListener("click", () => quietly((async () => {
    const answer = await work(say("writing"), () => ask({ do: "template", options: { unit: byId("template-unit").value, language: tongue } }));
    keep(answer.content, say("template-name"));
  })()));

  // What a person does.
  byId("file").addEventListener("change", (event) => { quietly(open([...event.target.files])); event.target.value = ""; });
  // dropped are the files that were let go, those in folders too.
  async function dropped(data) {
    const entries = [...data?.items ?? []].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
    if (!entries.some((e) => e.isDirectory)) return [...data?.files ?? []];
    const out = [];
    for (let i = 0; i < entries.length && out.length < 5000; i++) {
      const entry = entries[i];
      if (entry.isFile) {
        out.push(await new Promise((done, failed) => entry.file(done, failed)));
        continue;
      }
      const reader = entry.createReader();
      for (let list; (list = await new Promise((done, failed) => reader.readEntries(done, failed))).length;) entries.push(...list);
    }
    return out.filter((f) => /\.(xlsx|xlsm|ods|csv|tsv|txt|gpx|kml|kmz|geojson|json|jsonl|html?|zip|jpe?g|png)$/i.test(f.name));
  }
  // A file may be let go anywhere; a browser would open it in place of the page otherwise.
  // A link within a page in a frame only scrolls: the frame may go nowhere.
  function takeLinks(where) {
    where.addEventListener("click", (event) => {
      const link = event.target.closest?.("a");
      if (!link) return;
      event.preventDefault();
      const to = link.getAttribute("href") ?? link.getAttribute("xlink:href") ?? "";
      const target = to.startsWith("#") && where.getElementById(decodeURIComponent(to.slice(1)));
      if (target?.closest("details")) target.closest("details").open = true;
      if (target) target.scrollIntoView({ block: "center" });
    });
  }
  function takeDrops(where) {
    if (where !== document) takeLinks(where);
    for (const kind of ["dragover", "dragleave", "drop"]) {
      where.addEventListener(kind, (event) => {
        event.preventDefault();
        byId("drop").classList.toggle("over", kind === "dragover");
        if (kind === "drop") quietly(dropped(event.dataTransfer).then(open));
      });
    }
  }
  takeDrops(document);
  addEventListener("resize", () => { for (const id of ["plans", "year-page", "preview"]) asHigh(byId(id)); });
  for (const id of ["order", "unit", "written", "encoding"]) byId(id).addEventListener("change", () => quietly(check(chosen, "understood", true)));
  byId("sheet").addEventListener("change", () => { sheetOf[chosen] = byId("sheet").value; quietly(check(chosen, "understood", true)); });
  byId("level").addEventListener("change", () => chosen && quietly(check(chosen, "open", true)));
  byId("stop").addEventListener("click", () => stopped(new Error(say("was-stopped"))));
  byId("tongue").addEventListener("change", (event) => {
    tongue = event.target.value;
    sayOf = {};
    speak();
    shelf();
    if (!chosen) status(say("ready"));
    quietly(form());
    if (chosen) quietly(check(chosen, here()));
  });

  function speak() {
    document.documentElement.lang = tongue;
    byId("tongue").value = tongue;
    for (const e of document.querySelectorAll("[data-say]")) {
      if (e.id !== "status") e.textContent = say(e.dataset.say);
    }
    byId("season-means").textContent = say("season-" + byId("season-for").value);
  }

  speak();
  status(say("loading"));
  start();
  ready.then(() => { if (!chosen) status(say("ready")); quietly(form()); }, fail);
  if (location.protocol.startsWith("http") && document.querySelector("link[rel=manifest]")) navigator.serviceWorker?.register("keep.js").catch(() => {});
})();
