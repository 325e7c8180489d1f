  // Frames hold pages of their own, which run nothing.
  function show(frame, content, title) {
    frame.title = title;
    frame.srcdoc = new TextDecoder().decode(content);
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
      row.append(...cells.map((text) => element("td", text)));
      return row;
    }));
    return table;
  }

  // Where the finds lie.
  let placed = "", fields = [], plansPage = null, corners = [];
  async function where() {
    const key = [chosen, byId("by").value, tongue, ...outlines.keys()].join("|");
    if (placed === key) return asHigh(byId("plans"));
    const answer = await work(say("reading", { name: several() ? say("together") : chosen }), () => ask(request("where", { by: byId("by").value, register: registerText })));
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
    sketch();
  }
  byId("by").addEventListener("change", () => quietly(where()));
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
    best: byId("best").value.split(/[,;\s]+/).filter(Boolean) });
  async function season() {
    const key = [chosen, tongue, ...Object.values(seasonOf())].join("|");
    if (yearOf === key) return asHigh(byId("year-page"));
    const answer = await work(say("reading", { name: several() ? say("together") : chosen }), () => ask(request("season", seasonOf())));
    yearOf = key;
    status("");
    yearPage = answer.content;
    byId("season-left").replaceChildren(...(JSON.parse(answer.text).left ?? []).map((why) => element("li", say("left-out", { why }))));
    show(byId("year-page"), yearPage, say("season-title"));
  }
  for (const id of ["season-for", "year", "best"]) byId(id).addEventListener("change", () => quietly(season()));
  byId("print-season").addEventListener("click", () => byId("year-page").contentWindow.print());
  byId("keep-season").addEventListener("click", () => keep(yearPage, base() + "-season.html"));
  byId("keep-figures").addEventListener("click", () => quietly((async () => {
    const answer = await work(say("writing"), () => ask(request("season", { ...seasonOf(), to: "csv" })));
    keep(answer.content, base() + "-season.csv");
  })()));

  // What came back: an answer to a copy, or another finder's log.
  let returned = null; // { kind, list, name }
  function back() {
    byId("back-one").hidden = !several();
    byId("came").disabled = several();
    byId("back-register").hidden = Boolean(registerText);
    answers();
  }
  byId("came").addEventListener("change", () => quietly((async () => {
    const [file] = byId("came").files;
    if (!file) return;
    const name = unique(file.name, opened), ours = chosen;
    opened = [...opened, { name, bytes: new Uint8Array(await file.arrayBuffer()), kind: "came" }];
    const answer = await work(say("reading", { name: file.name }), () => ask(request("receive", { answer: name, register: registerText })));
    const came = JSON.parse(answer.text);
    returned = { kind: came.kind, list: came.proposals, name };
    if (came.kind === "log") await join(ours);
    status("");
    answers();
  })()));
  const joinRequest = (more) => ({ ...request("merge"), name: undefined, names: [chosen, returned.name], columns: undefined, ...more });
  async function join() {
    const answer = await work(say("reading", { name: returned.name }), () => ask(joinRequest({ proposals: returned.list })));
    const said = JSON.parse(answer.text);
    returned = { ...returned, list: said.decisions, open: said.open, lost: said.lost };
  }
  function answers() {
    const list = returned?.list, items = list?.proposals ?? list?.questions ?? [];
    const answer = returned?.kind === "answer";
    byId("back-says").textContent = !list ? "" : answer ? say("back-answer", { who: list.from ?? "", n: items.length }) : say("back-log", { n: items.length, open: returned.open ?? 0 });
    byId("answers").replaceChildren(...items.slice(0, 200).map(answer ? oneProposal : oneQuestion), ...(list?.said ?? returned?.lost ?? []).slice(0, 50).map((text) => element("li", text, "small")));
    byId("back-keep").hidden = !list;
    byId("back-all-line").hidden = !answer;
    byId("keep-merged").disabled = !answer && (returned?.open ?? 0) > 0;
  }
  function oneProposal(p) {
    const item = element("li"), label = element("label"), tick = element("input");
    tick.type = "checkbox";
    tick.checked = p.accepted;
    tick.addEventListener("change", () => { p.accepted = tick.checked; });
    label.append(tick, " " + [p.find && say("find", { n: p.find }), p.says].filter(Boolean).join(": "));
    item.append(label);
    return item;
  }
  function oneQuestion(q) {
    const item = element("li"), select = element("select");
    item.append(element("p", [q.find && say("find", { n: q.find }), q.asks].filter(Boolean).join(": ")));
    for (const side of q.sides ?? []) item.append(element("p", `${side.choice ? side.choice + " " : ""}${side.from.join(", ")}: ${typeof side.says === "string" ? side.says : JSON.stringify(side.says ?? "")}`, "small"));
    select.setAttribute("aria-label", q.asks);
    for (const choice of ["", ...q.choices ?? []]) {
      const o = element("option", choice || say("as-is"));
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
  byId("keep-merged").addEventListener("click", () => quietly((async () => {
    const answer = await work(say("writing"), () => ask(returned.kind === "answer" ? request("accept", { to: "findslip", proposals: returned.list }) : joinRequest({ to: "findslip", proposals: returned.list })));
    keep(answer.content, base() + "-new.findslip.json");
    const refused = JSON.parse(answer.text).refused ?? [];
    if (refused.length) byId("back-says").textContent = say("refused", { what: refused.join("; ") });
  })()));

  // What the log leaves open is said once and kept in a file beside it.
  let given = {}, givenFor = "", settingsFile = null;
  async function questions() {
    if (several()) return;
    if (givenFor !== chosen) [given, givenFor] = [{}, chosen];
    const answer = await ask(request("questions", { answers: given }));
    const said = JSON.parse(answer.text);
    settingsFile = { content: answer.content, name: said.name };
    byId("asked").hidden = !said.questions.length;
    byId("keep-settings").disabled = !Object.values(given).some(Boolean);
    byId("asks").replaceChildren(...said.questions.map((q, i) => {
      const item = element("li"), label = element("label"), select = element("select");
      for (const a of [{ value: "", words: say("not-answered") }, ...q.answers]) {
        const o = element("option", a.words || a.value);
        o.value = a.value;
        o.selected = a.value === (given[i] ?? "");
        select.append(o);
      }
      select.addEventListener("change", () => quietly((async () => {
        given[i] = select.value;
        const answer = await ask(request("questions", { answers: given }));
        settings[chosen] = Object.values(given).some(Boolean) ? JSON.parse(new TextDecoder().decode(answer.content)) : undefined;
        if (!settings[chosen]) delete settings[chosen];
        await check(chosen, "understood");
      })()));
      label.append(element("span", q.text), " ", select);
      item.append(label);
      return item;
    }));
  }
  byId("keep-settings").addEventListener("click", () => keep(settingsFile.content, settingsFile.name));
