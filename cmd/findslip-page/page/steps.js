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

  // Where the finds lie.
  let placed = "", fields = [], plansPage = null, corners = [];
  // What a stranger would see takes as long as a copy: of a long log only when it is asked for.
  let strange = 0; // the run in which it was
  async function where() {
    const strangers = strange === run || (checked.report.summary.finds ?? 0) < 1500;
    byId("strangers").hidden = strangers;
    const key = [run, chosen, byId("by").value, tongue, strangers, ...outlines.keys()].join("|");
    if (placed === key) return asHigh(byId("plans"));
    const answer = await lengthy(say("reading", { name: several() ? say("together") : chosen }), request("where", { by: byId("by").value, register: registerText, strangers }));
    placed = key;
    status("");
    plansPage = answer.content;
    show(byId("plans"), plansPage, say("where-title"));
    fields = JSON.parse(answer.text).fields;
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
  byId("keep-plans").addEventListener("click", () => keep(plansPage, base() + "-plans.html"));

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
  let yearOf = "", yearPage = null;
  const seasonOf = () => ({ for: byId("season-for").value, year: /^\d{4}$/.test(byId("year").value) ? byId("year").value : "",
    title: byId("above").value.trim(), best: numbersIn("best") });
  async function season() {
    const key = [run, chosen, tongue, ...Object.values(seasonOf())].join("|");
    if (yearOf === key) return asHigh(byId("year-page"));
    const answer = await lengthy(say("reading", { name: several() ? say("together") : chosen }), request("season", seasonOf()));
    yearOf = key;
    status("");
    yearPage = answer.content;
    byId("season-left").replaceChildren(...leftOut(JSON.parse(answer.text).left).map((text) => element("li", text)));
    show(byId("year-page"), yearPage, say("season-title"));
  }
  for (const id of ["season-for", "year", "best", "above"]) byId(id).addEventListener("change", () => quietly(season()));
  byId("print-season").addEventListener("click", () => byId("year-page").contentWindow.print());
  byId("keep-season").addEventListener("click", () => keep(yearPage, base() + "-season.html"));
  byId("keep-figures").addEventListener("click", () => quietly((async () => {
    const answer = await work(say("writing"), () => ask(request("season", { ...seasonOf(), to: "csv" })));
    keep(answer.content, base() + "-season.csv");
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
    const name = unique(file.name, opened);
    opened = [...opened.filter((f) => f.kind !== "came"), { name, bytes: new Uint8Array(await file.arrayBuffer()), kind: "came" }];
    const answer = await work(say("reading", { name: file.name }), () => ask(request("receive", { answer: name, register: registerText })));
    const came = JSON.parse(answer.text);
    returned = { kind: came.kind, of: came.of || chosen, list: came.proposals, name };
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
    byId("back-says").textContent = !returned ? "" : !known ? say("back-" + returned.kind)
      : answer ? say("back-answer", { who: list.from ?? "", n: items.length, of: returned.of === "*" ? say("together") : returned.of })
      : say("back-log", { n: items.length, open: returned.open ?? 0 });
    byId("answers").replaceChildren(...items.slice(0, 200).map(answer ? oneProposal : oneQuestion), ...(list?.said ?? returned?.lost ?? []).filter((text) => !(answer && /did not come back/.test(text) && /\.csv$/i.test(returned.name))).slice(0, 50).map((text) => element("li", text, "small")));
    byId("back-keep").hidden = !list;
    byId("back-all-line").hidden = !answer || !items.length;
    keepable();
  }
  const keepable = () => {
    byId("keep-merged").disabled = byId("keep-merged-json").disabled = returned?.kind === "answer" ? !returned.list.proposals.some((p) => p.accepted) : (returned?.open ?? 0) > 0;
  };
  // inWords says what a value of a record says, in the words that people know it by.
  function inWords(value) {
    if (value === null || typeof value !== "object") return String(value ?? "");
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
    const own = { ENG: "England", SCT: "Scotland", WLS: "Wales", NIR: "Northern Ireland" }[part];
    return !part ? named : country === "GB" && own ? own : `${named} (${code})`;
  }
  let fieldNames = new Map();
  const given = {}; // by log: answers by their place in the list
  async function questions(name) {
    given[name] ??= {};
    const answer = await ask(request("questions", { answers: given[name] }, name));
    const said = JSON.parse(answer.text);
    if (!said.questions.length) return;
    byId("asked").hidden = false;
    if (several()) byId("asks").append(element("li", name, "of"));
    byId("asks").append(...said.questions.map((q, i) => {
      const item = element("li"), label = element("label"), select = element(q.answers.length ? "select" : "input");
      const set = () => quietly((async () => {
        given[name][i] = select.value.trim();
        const answer = await ask(request("questions", { answers: given[name] }, name));
        settings[name] = Object.values(given[name]).some(Boolean) ? JSON.parse(new TextDecoder().decode(answer.content)) : undefined;
        if (!settings[name]) delete settings[name];
        await check(chosen, "understood");
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
    if (!Object.values(given[name]).some(Boolean)) return;
    const line = element("li"), button = element("button", say("keep-settings"));
    button.type = "button";
    button.addEventListener("click", () => keep(answer.content, said.name));
    line.append(button);
    byId("asks").append(line);
  }
