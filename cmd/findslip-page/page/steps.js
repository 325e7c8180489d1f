  // Frames hold pages of their own, which run nothing.
  // A long page is written piece by piece, so that whoever taps meanwhile is answered.
  async function show(frame, content, title) {
    const text = new TextDecoder().decode(content), piece = 100_000;
    frame.title = title;
    frame.writing = text;
    if (text.length < 4 * piece) { frame.srcdoc = text; return; }
    const page = frame.contentDocument;
    page.open();
    for (let at = 0; at < text.length && frame.writing === text; at += piece) {
      page.write(text.slice(at, at + piece));
      await new Promise((next) => setTimeout(next));
    }
    if (frame.writing === text) page.close();
  }
  for (const id of ["plans", "year-page"]) {
    byId(id).addEventListener("load", () => {
      const body = byId(id).contentDocument?.body;
      if (!body) return;
      new ResizeObserver(() => asHigh(byId(id))).observe(body);
      takeDrops(byId(id).contentDocument);
    });
  }
  function tableOf(heads, rows) {
    const table = element("table"), head = element("tr");
    head.append(...heads.map((text) => {
      const th = element("th", text);
      th.scope = "col";
      return th;
    }));
    table.append(head, ...rows.map((cells) => {
      const row = element("tr");
      row.append(...cells.map((text, i) => {
        const cell = element("td", text);
        cell.dataset.head = heads[i];
        return cell;
      }));
      return row;
    }));
    return table;
  }

  // fresh shows a page that depends on choices in its frame. What was shown before goes at once, and nothing can be kept
  // or printed until the page of the choices as they stand is there; one that comes too late is not shown.
  const shownIn = {}; // by frame: the choices it was made of, its page, and the name for a file of it
  async function fresh(id, keyOf, name, title, what) {
    const key = keyOf(), frame = byId(id), able = (on) => { for (const b of document.querySelectorAll(`[data-of=${id}]`)) b.disabled = !on; };
    if (shownIn[id]?.key === key) return asHigh(frame);
    shownIn[id] = null;
    able(false);
    frame.writing = null;
    frame.srcdoc = "";
    const answer = await lengthy(say("reading", { name: several() ? say("together") : chosen }), what);
    if (keyOf() !== key) return; // something else was chosen, and is on its way
    status("");
    shownIn[id] = { key, name, content: answer.content };
    able(true);
    show(frame, answer.content, title);
    return JSON.parse(answer.text);
  }
  const keepShown = (id) => keep(shownIn[id].content, shownIn[id].name + ".html");

  // Where the finds lie.
  let fields = [], corners = [];
  // What a stranger would see takes as long as a copy: of a long log only when it is asked for.
  let strange = 0; // the run in which it was
  async function where() {
    const strangers = strange === run || (checked.report.summary.finds ?? 0) < 1500;
    byId("strangers").hidden = strangers;
    const said = await fresh("plans", () => [run, chosen, byId("by").value, tongue, strange === run, ...outlines.keys()].join("|"), fileOf("plans"), say("where-title"),
      request("where", { by: byId("by").value, register: registerText, strangers }));
    if (!said) return;
    fields = said.fields;
    byId("field").replaceChildren(...fields.map((f, i) => {
      const o = element("option", f.name);
      o.value = i;
      return o;
    }));
    byId("drawing").hidden = !fields.length;
    const names = (has) => fields.filter((f) => f.outline === has).map((f) => f.name).join(", ");
    byId("outlined").textContent = names(true) ? [say("outlined", { with: names(true) }), names(false) && say("not-outlined", { without: names(false) })].filter(Boolean).join(" ") : "";
    sketch();
  }
  byId("by").addEventListener("change", () => quietly(where()));
  byId("strangers").addEventListener("click", () => { strange = run; quietly(where()); });
  byId("print-plans").addEventListener("click", () => byId("plans").contentWindow.print());
  byId("keep-plans").addEventListener("click", () => keepShown("plans"));

  // Drawing an outline: the plan of the field as a picture, and over it the corners.
  const svg = (name, attributes) => {
    const e = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) e.setAttribute(key, value);
    return e;
  };
  function sketch() {
    corners = [];
    const f = fields[byId("field").value || 0], holder = byId("sketch");
    if (!f) return holder.replaceChildren();
    // Room around the finds, so that an outline can be larger than they are.
    const { Width: width, Height: height } = f.view;
    const board = svg("svg", { viewBox: `${-width / 2} ${-height / 2} ${2 * width} ${2 * height}`, role: "img", "aria-label": f.name });
    const picture = svg("image", { width, height: (/viewBox="0 0 \S+ ([\d.]+)"/.exec(f.svg) ?? [])[1] ?? height });
    const address = URL.createObjectURL(new Blob([f.svg], { type: "image/svg+xml" }));
    picture.addEventListener("load", () => URL.revokeObjectURL(address));
    picture.setAttribute("href", address);
    const line = svg("polygon", { class: "drawn" });
    board.append(picture, line);
    board.addEventListener("pointerdown", (event) => {
      const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(board.getScreenCTM().inverse());
      corners.push([at.x, at.y]);
      trace(line);
      event.preventDefault();
    });
    holder.replaceChildren(board);
    trace(line);
  }
  function trace(line) {
    line.setAttribute("points", corners.map((c) => c.join(",")).join(" "));
    for (const dot of byId("sketch").querySelectorAll("circle")) dot.remove();
    line.parentNode.append(...corners.map(([cx, cy]) => svg("circle", { cx, cy, r: 7, class: "corner" })));
    byId("close").disabled = corners.length < 3;
    byId("undo").disabled = !corners.length;
    byId("keep-outlines").disabled = !outlines.size;
  }
  byId("field").addEventListener("change", sketch);
  byId("undo").addEventListener("click", () => { corners.pop(); trace(byId("sketch").querySelector("polygon")); });
  byId("close").addEventListener("click", () => quietly((async () => {
    const f = fields[byId("field").value || 0], degree = 6371008.8 * Math.PI / 180;
    outlines.set(f.id || f.name, corners.map(([x, y]) => {
      const east = f.view.West + x / f.view.Scale, north = f.view.North - y / f.view.Scale;
      return [f.middle[0] + east / (degree * Math.cos(f.middle[1] * Math.PI / 180)), f.middle[1] + north / degree];
    }));
    await check(chosen, "where");
  })()));
  byId("keep-outlines").addEventListener("click", () => {
    const named = (field) => fields.find((f) => f.id === field)?.name ?? field;
    const map = { type: "FeatureCollection", features: [...outlines].map(([field, ring]) => ({ type: "Feature", properties: { field: named(field) },
      geometry: { type: "Polygon", coordinates: [[...ring, ring[0]].map((p) => p.map((v) => Math.round(v * 1e7) / 1e7))] } })) };
    keep(new TextEncoder().encode(JSON.stringify(map, null, 1) + "\n"), base() + "-outlines.geojson");
  });

  // The season.
  const seasonOf = () => ({ for: byId("season-for").value, year: /^\d{4}$/.test(byId("year").value) ? byId("year").value : "",
    title: byId("above").value.trim(), best: numbersIn("best") });
  const fileOf = (...parts) => [base(), ...parts].join("-").replace(/[^\p{L}\p{N}._-]+/gu, "-");
  async function season() {
    const whom = byId("season-for").selectedOptions[0].textContent;
    const said = await fresh("year-page", () => [run, chosen, tongue, ...Object.values(seasonOf())].join("|"), fileOf("season", whom), say("season-title"), request("season", seasonOf()));
    if (said) byId("season-left").replaceChildren(...leftOut(said.left).map((text) => element("li", text)));
  }
  for (const id of ["season-for", "year", "best", "above"]) byId(id).addEventListener("change", () => { speak(); byId("season-left").replaceChildren(); quietly(season()); });
  byId("print-season").addEventListener("click", () => byId("year-page").contentWindow.print());
  byId("keep-season").addEventListener("click", () => keepShown("year-page"));
  byId("keep-figures").addEventListener("click", () => quietly((async () => {
    const { name } = shownIn["year-page"];
    const answer = await work(say("writing"), () => ask(request("season", { ...seasonOf(), to: "csv" })));
    keep(answer.content, name + ".csv");
  })()));

  // What came back: an answer to a copy, or another finder's log.
  let returned = null; // { kind, of, list, name }
  function back() {
    byId("back-register").hidden = Boolean(registerText);
    answers();
  }
  byId("came").addEventListener("change", () => quietly((async () => {
    const [file] = byId("came").files;
    if (!file) return;
    returned = null; // of the file before
    answers();
    opened = opened.filter((f) => f.kind !== "came");
    const name = unique(file.name, opened);
    if (kindOf(file) === "picture") return fail(new Error(say("back-nothing", { name })));
    opened = [...opened, { name, bytes: new Uint8Array(await file.arrayBuffer()), kind: "came" }];
    const answer = await work(say("reading", { name: file.name }), () => ask(request("receive", { answer: name, register: registerText })));
    const came = JSON.parse(answer.text);
    if (came.kind === "nothing") return fail(new Error(say("back-nothing", { name })));
    returned = { kind: came.kind, of: came.of || chosen, list: came.proposals, labels: came.labels, name, finds: came.finds, who: came.who ?? [] };
    if (came.kind === "log") await join();
    status("");
    answers();
  })()));
  const joinRequest = (more) => request("merge", { answer: returned.name, ...more });
  async function join() {
    const answer = await work(say("reading", { name: returned.name }), () => ask(joinRequest({ proposals: returned.list })));
    const said = JSON.parse(answer.text);
    returned = { ...returned, list: said.decisions, open: said.open, lost: said.lost };
  }
  function answers() {
    const list = returned?.list, items = list?.proposals ?? list?.questions ?? [];
    const answer = returned?.kind === "answer", known = answer || returned?.kind === "log";
    byId("back-says").textContent = !returned ? "" : !known ? say("back-" + returned.kind + (returned.kind === "no-register" && registerText ? "-of-it" : ""))
      : answer ? say("back-answer", { who: list.from ?? "", n: items.length, of: returned.of === "*" ? say("together") : returned.of })
      : [say("back-log", { name: returned.name, n: returned.finds, who: returned.who.filter(Boolean).join(", ") || say("back-log-unsaid") }), items.length ? say("back-asks", { n: items.length, open: returned.open ?? 0 }) : say("back-no-asks")].join(" ");
    again(byId("answers"), ...items.slice(0, 200).map(answer ? oneProposal : oneQuestion), ...(list?.said ?? returned?.lost ?? []).filter((text) => !(answer && /did not come back/.test(text) && /\.csv$/i.test(returned.name))).slice(0, 50).map((text) => element("li", text, "small")));
    byId("back-keep").hidden = !list;
    byId("back-all-line").hidden = !answer || !items.length;
    keepable();
  }
  const keepable = () => {
    byId("keep-merged").disabled = byId("keep-merged-json").disabled = returned?.kind === "answer" ? !returned.list.proposals.some((p) => p.accepted) : (returned?.open ?? 0) > 0;
  };
  // inWords says what a value of a record says, in the words that people know it by.
  function inWords(value) {
    if (value === null || typeof value !== "object") return returned?.labels?.[value] ?? String(value ?? "");
    if (Array.isArray(value)) return value.map(inWords).filter(Boolean).join(", ");
    if (value.verbatim) return value.verbatim;
    const passed = /^(id|by|finder|permission|outing|on|says|absent|columns|source|uncertainty.*|method|referenceSystem|min|max|said|resolution|basis|country)$/;
    const own = Object.entries(value).filter(([key]) => !passed.test(key)).map(([key, v]) => key === "number" ? say("number-of", { n: inWords(v) }) : inWords(v));
    return [...own, value.says ? inWords(value.says) : ""].filter(Boolean).join(" · ");
  }
  function oneProposal(p) {
    const item = element("li"), label = element("label"), tick = element("input");
    tick.type = "checkbox";
    tick.checked = p.accepted;
    tick.addEventListener("change", () => { p.accepted = tick.checked; keepable(); });
    label.append(tick, " " + [p.find && say("find", { n: p.find }), p.says].filter(Boolean).join(colon()));
    item.append(label, element("p", p.patch.filter((s) => s.op !== "test").map((s) => inWords(s.value)).filter(Boolean).join(" · "), "new-words"));
    return item;
  }
  function oneQuestion(q) {
    const item = element("li"), select = element("select");
    const asks = say("ask-" + q.kind);
    item.append(element("p", [q.find && say("find", { n: q.find }), asks].filter(Boolean).join(colon())));
    for (const side of q.sides ?? []) item.append(element("p", `${side.choice ? side.choice + " " : ""}${side.from.map((f) => f.replace(/\.findslip\.json$/, "")).join(", ")}: ${inWords(side.says)}`, "small"));
    select.setAttribute("aria-label", asks);
    select.dataset.of = JSON.stringify([q.kind, q.find, q.sides]);
    for (const choice of ["", ...q.choices ?? []]) {
      const side = q.sides?.find((s) => s.choice === choice);
      const o = element("option", choice === "" ? say("not-answered") : choice === "one" ? say("same") : choice === "two" ? say("differ") : side ? `${choice}: ${inWords(side.says).slice(0, 60)}` : choice);
      o.value = choice;
      o.selected = choice === q.decision;
      select.append(o);
    }
    select.addEventListener("change", () => { q.decision = select.value; quietly(join().then(answers)); });
    item.append(select);
    return item;
  }
  byId("back-all").addEventListener("change", () => {
    for (const p of returned.list.proposals) p.accepted = byId("back-all").checked;
    answers();
  });
  for (const [id, to] of [["keep-merged", "xlsx"], ["keep-merged-json", "findslip"]]) byId(id).addEventListener("click", () => quietly((async () => {
    const answer = await work(say("writing"), () => ask(returned.kind === "answer" ? request("accept", { to, proposals: returned.list }, returned.of) : joinRequest({ to, proposals: returned.list })));
    keep(answer.content, base() + "-new." + (to === "xlsx" ? "xlsx" : "findslip.json"));
    const refused = JSON.parse(answer.text).refused ?? [];
    if (refused.length) byId("back-says").textContent = say("refused", { what: refused.join("; ") });
  })()));

  // What a log leaves open is said once and kept in a file beside it.
  const units = { in: "inches", cm: "centimetres", mm: "millimetres" };
  function answerWords(q, a) {
    if (!a.value) return a.words;
    if (q.asks === "order") return `${say(a.value)}: ${a.words.replace(/^.*: /, "")}`;
    if (q.asks === "unit") return say(units[a.value]);
    if (q.asks === "country") return say("likely-country", [placeName(a.value)]);
    if (q.asks === "column") return fieldNames.get(a.value) ?? a.words;
    return a.words || a.value;
  }
  // placeName is what people call a country, or the part of one that has a law of its own.
  function placeName(code) {
    const [country, part] = code.split("-");
    const named = new Intl.DisplayNames([tongue], { type: "region", fallback: "code" }).of(country);
    return !part ? named : country === "GB" && words["part-" + part] ? say("part-" + part) : `${named} (${code})`;
  }
  let fieldNames = new Map();
  const given = {}; // by log: answers by their place in the list
  async function questions(name) {
    given[name] ??= {};
    const answer = await ask(request("questions", { answers: given[name] }, name));
    const said = JSON.parse(answer.text);
    if (!said.questions.length) return [];
    const list = several() ? [element("li", name, "of")] : [];
    list.push(...said.questions.map((q, i) => {
      const item = element("li"), label = element("label"), select = element(q.answers.length ? "select" : "input");
      select.dataset.of = `${name}|${i}`;
      const set = () => quietly((async () => {
        if (select.value.trim() === (given[name][i] ?? "")) return;
        given[name][i] = select.value.trim();
        const answer = await ask(request("questions", { answers: given[name] }, name));
        settings[name] = Object.values(given[name]).some(Boolean) ? JSON.parse(new TextDecoder().decode(answer.content)) : undefined;
        if (!settings[name]) delete settings[name];
        await check(chosen, "understood", true);
      })());
      if (q.answers.length) {
        for (const a of [{ value: "", words: say("not-answered") }, ...q.answers]) {
          const o = element("option", answerWords(q, a));
          o.value = a.value;
          o.selected = a.value === (given[name][i] ?? "");
          select.append(o);
        }
      } else Object.assign(select, { type: "text", value: given[name][i] ?? "" });
      select.addEventListener("change", set);
      label.append(element("span", words["q-" + q.asks] ? say("q-" + q.asks, q.about ?? []) : q.text), " ", select);
      item.append(label);
      return item;
    }));
    if (!Object.values(given[name]).some(Boolean)) return list;
    const line = element("li"), button = element("button", say("keep-settings"));
    button.type = "button";
    button.addEventListener("click", () => keep(answer.content, said.name));
    line.append(button);
    return [...list, line];
  }

  // Finds that are written down here. They are a log of their own, CSV with the headings of our templates; one that was
  // kept and is opened again is gone on with.
  const written = ["number", "name", "permission", "found.date", "found.time", "depth", "materials.1", "weight", "position.verbatim", "position.latitude", "position.longitude", "position.uncertainty", "position.method",
    "finder", "place.country", "notes"];
  const often = { permission: 1, finder: 1, "place.country": 1 }; // what the next find has too
  let heads = null, found = [], kept = 0, row = -1, spot = null; // the row that is changed; where the device is
  const box = (field) => byId("find-fields").querySelector(`[name="${field}"]`);
  let labels = null; // headings by field and language
  const hereLine = byId("here-line");
  async function form() {
    labels ??= JSON.parse((await ask({ do: "headings", options: {} })).text);
    if (!found.length) heads = written.map((field) => labels[field][tongue]);
    const asked = written.filter((field) => !/^position\.(?!verbatim)/.test(field));
    again(byId("find-fields"), ...asked.map((field) => {
      const label = element("label"), input = element("input"), before = box(field)?.value;
      input.name = input.dataset.of = field;
      input.type = { "found.date": "date", "found.time": "time" }[field] ?? "text";
      if (field === "name") input.required = true;
      const own = { permission: say("field-land"), name: say("hand-what"), "position.verbatim": say("field-position") }[field];
      input.value = before ?? (field === "found.date" ? today() : "");
      if (field === "depth" || field === "weight") input.placeholder = field === "depth" ? "15 cm" : "3.5 g";
      label.append(element("span", own ?? labels[field][tongue]), input);
      return label;
    }));
    box("position.verbatim").parentNode.append(hereLine);
    hereLine.hidden = !navigator.geolocation;
    foundList();
  }
  // nextNumber is one more than the highest number that was written down here, or than there are finds in the log.
  const nextNumber = () => String(1 + Math.max(0, ...found.map((f) => Number(f.number) || 0), found.length ? 0 : checked?.report.summary.finds ?? 0));
  function foundList() {
    if (box("number") && !box("number").value) box("number").value = nextNumber();
    byId("found").replaceChildren(...found.map((f, i) => {
      const item = element("li"), button = element("button", [f.number, f.name, f.permission].filter(Boolean).join(" · "), "quiet"), gone = element("button", "×", "away");
      button.type = gone.type = "button";
      button.addEventListener("click", () => {
        row = i;
        spot = null;
        for (const field of written) if (box(field)) box(field).value = f[field] ?? "";
        if (f["position.latitude"]) box("position.verbatim").value = `${f["position.latitude"]}, ${f["position.longitude"]}`;
        byId("find-add").textContent = say("hand-change");
        box("name").focus();
      });
      gone.setAttribute("aria-label", say("take-away", { name: button.textContent }));
      gone.addEventListener("click", () => quietly(put(found.filter((_, n) => n !== i), "")));
      item.append(button, gone);
      return item;
    }));
    byId("found-line").hidden = !found.length;
    byId("found-says").textContent = kept < found.length || kept < 0 ? say("hand-not-kept", { n: kept < 0 ? found.length : found.length - kept }) : "";
  }
  const quote = (text = "") => /[",\r\n]|^[=+@-]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
  const handName = () => opened.find((f) => f.byHand)?.name ?? unique(say("hand-name"), opened);
  // put makes the log of the finds anew and has it read.
  async function put(list, last = list.at(-1)?.number) {
    const name = handName(), text = [heads, ...list.map((f) => written.map((field) => f[field]))].map((line) => line.map(quote).join(",")).join("\r\n") + "\r\n";
    kept = list.length > found.length && kept >= 0 ? kept : -1; // what was kept is no more as it is
    found = list;
    row = -1;
    byId("find-add").textContent = say("hand-add");
    if (!found.length) return foundList(), away([name]);
    opened = [...opened.filter((f) => f.name !== name), { name, kind: "log", byHand: true, bytes: new TextEncoder().encode("\ufeff" + text) }];
    if (!logs.includes(name)) logs.push(name);
    delete mended[name];
    foundList();
    await check(logs.length > 1 ? "*" : name, "open", true);
    const bad = last ? dangersOf(last) : [];
    byId("find-danger").textContent = bad.join(" ");
    byId("find-danger").hidden = !bad.length;
    if (last) status(`${say("hand-done", { n: last })} ${byId("found-says").textContent}`);
  }
  const dangersOf = (number) => (checked.report.groups ?? []).filter((g) => grave.test(g.code) && g.examples.some((e) => e.find === number)).map((g) => `${say("find", { n: number })}${colon()}${g.say}. ${g.do ?? ""}`.replace(/^./, (c) => c.toUpperCase()));
  byId("find").addEventListener("submit", (event) => {
    event.preventDefault();
    const f = Object.fromEntries(written.map((field) => [field, box(field)?.value.trim() ?? ""]));
    const here = /^(-?\d+\.\d+), (-?\d+\.\d+)$/.exec(f["position.verbatim"]), old = row >= 0 ? found[row] : null;
    if (here) {
      Object.assign(f, { "position.verbatim": "", "position.latitude": here[1], "position.longitude": here[2] });
      const of = spot?.said === here[0] ? { "position.uncertainty": spot.metres, "position.method": "phone" } : old?.["position.latitude"] === here[1] ? old : {};
      for (const field of ["position.uncertainty", "position.method"]) f[field] = of[field] ?? "";
    }
    const list = old ? found.with(row, f) : [...found, f];
    for (const field of written) if (box(field) && !often[field] && field !== "found.date") box(field).value = "";
    spot = null;
    quietly(put(list, f.number));
    box("name").focus();
  });
  // The device is asked where it is only when a person wants that.
  byId("find-here").addEventListener("click", () => {
    status(say("hand-asking"));
    navigator.geolocation.getCurrentPosition(({ coords, timestamp }) => {
      spot = { said: `${coords.latitude.toFixed(5)}, ${coords.longitude.toFixed(5)}`, metres: String(Math.ceil(coords.accuracy)) };
      box("position.verbatim").value = spot.said;
      box("found.time").value ||= new Date(timestamp).toTimeString().slice(0, 5);
      status(say("hand-at", { m: spot.metres }));
    }, () => { status(""); fail(new Error(say("hand-nowhere"))); }, { enableHighAccuracy: true, timeout: 30_000, maximumAge: 0 });
  });
  byId("found-keep").addEventListener("click", () => {
    const log = opened.find((f) => f.byHand);
    keep(log.bytes, log.name);
    kept = found.length;
    foundList();
  });
  // writtenHere takes up finds that were written down here before, from the file that was kept.
  function writtenHere(file) {
    const text = new TextDecoder().decode(file.bytes), lines = [[""]];
    for (let i = 0, inside = false; i < text.length; i++) {
      const c = text[i], line = lines.at(-1);
      if (c === '"' && (inside || !line.at(-1))) { if (inside && text[i + 1] === '"') { line[line.length - 1] += c; i++; } else inside = !inside; }
      else if (c === "," && !inside) line.push("");
      else if (c === "\n" && !inside) lines.push([""]);
      else if (c !== "\r" || inside) line[line.length - 1] += c;
    }
    const [first, ...rows] = lines.filter((line) => line.length === written.length);
    const theirs = labels && tongues.map((t) => written.map((field) => labels[field][t])).find((list) => list.join() === first?.join().replace("\ufeff", ""));
    if (!theirs || !rows.length || rows.length + 1 < lines.length - 1) return;
    heads = theirs;
    found = rows.map((line) => Object.fromEntries(written.map((field, i) => [field, line[i]])));
    kept = found.length;
    file.byHand = true;
    foundList();
  }
