// node page-check.mjs PAGE FINDSLIP FILE... [--pictures FOLDER]: the page in headless Chromium, opened from disk as by a
// double click. Each FILE is dropped on it; what the page then shows is compared with what the command says of the same
// file. Every step is gone through with real drops - one log, all at once, photos, a register, an answer -, every download
// is taken and read again by the command; nothing may be asked of any address, or kept. Every step is judged by axe, a
// general checker of accessibility, light and dark. Prints how long things took and how much memory there is.
// --pictures keeps screenshots at two widths, light and dark.
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { basename, dirname, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "./chromium.mjs";

const words = process.argv.slice(2);
const pictures = words.includes("--pictures") && resolve(words.splice(words.indexOf("--pictures"), 2)[1]);
const [page, findslip, ...files] = words.map((p) => resolve(p));
if (!files.length) throw new Error("page-check PAGE FINDSLIP FILE...");
const folder = mkdtempSync(join(tmpdir(), "page-"));
const b = await chromium();
let failures = 0;
const fail = (text) => { failures++; console.log(text); };
const same = (what, got, want) => {
  if (typeof got === "string" && typeof want === "string" && got !== want) {
    let at = 0;
    while (got[at] === want[at]) at++;
    return fail(`${what}: the page has ${JSON.stringify(got.slice(Math.max(0, at - 60), at + 120))}, wanted ${JSON.stringify(want.slice(Math.max(0, at - 60), at + 120))}`);
  }
  if (JSON.stringify(got) !== JSON.stringify(want)) fail(`${what}: the page has ${JSON.stringify(got)?.slice(0, 3000)}, wanted ${JSON.stringify(want)?.slice(0, 600)}`);
};
const command = (...args) => execFileSync(findslip, args, { maxBuffer: 1 << 28, stdio: ["ignore", "pipe", "ignore"] }).toString();
const step = (name) => b.evaluate(`document.querySelector("[data-step=${name}]").click()`);
const status = "document.getElementById('status').textContent";
const shown = (name) => `!document.getElementById("look").hidden && ${status}.includes(${JSON.stringify(name)}) && ${status}.endsWith("was read.")
  && document.getElementById("report").contentDocument?.readyState === "complete" && document.getElementById("report").contentDocument.body?.innerText.length > 40`;
const pictured = async (name) => {
  await accessible(name);
  if (!pictures) return;
  for (const [width, dark] of [[390, false], [1280, false], [390, true]]) {
    await b.width(width);
    await b.dark(dark);
    await new Promise((done) => setTimeout(done, 300));
    await b.picture(join(pictures, `page-${name}-${width}${dark ? "-dark" : ""}.png`));
  }
  await b.dark(false);
  await b.width(390);
};
// What axe says against a step. What it could not judge is counted and listed. The pages in frames run nothing, axe
// neither: they are judged by themselves at the end.
let axe = "";
try {
  axe = readFileSync(createRequire(join(process.env.PEERS ?? dirname(import.meta.filename), "x.js")).resolve("axe-core/axe.min.js"), "utf8");
} catch {
  console.log("NOT CHECKED: accessibility by axe, for axe-core is not installed (npm ci, PEERS=its folder)");
}
const incomplete = new Map(), framed = new Map();
const accessible = async (name) => {
  if (!axe) return;
  for (const dark of [false, true]) {
    await b.dark(dark);
    await new Promise((done) => setTimeout(done, 300)); // until colours have changed
    await b.evaluate(`window.axe ? 0 : (() => { ${axe} })()`);
    const said = await b.evaluate(`axe.run(document, { resultTypes: ["violations", "incomplete"], iframes: false }).then((r) => [...r.violations.map((v) => v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map((n) => n.target.join(" ") + " " + ([...n.any, ...n.all, ...n.none][0]?.message ?? "")).join(" | ")), ...r.incomplete.map((v) => "?" + v.id)])`);
    for (const text of said) text[0] === "?" ? incomplete.set(text.slice(1), (incomplete.get(text.slice(1)) ?? 0) + 1) : fail(`axe, ${name}${dark ? ", dark" : ""}: ${text}`);
  }
  await b.dark(false);
};
// The words of a page of HTML, without what differs from run to run.
// The page puts what the command tells people to type into its own steps: that is taken out on both sides.
const commandTalk = [/ ?\([^()]*(?:--[a-z]|findslip [a-z])[^()]*\)/g, /, such as --[a-z-]+ [\w:]+|,[^,.;]*--pivot[^.;]*/g, / in (?:the reading plan|a column map): findslip columns\b(?:\.json|[^<.;,:])*/g, / in “Understood”/g,
  /findslip (?:columns|repair)\b(?:\.json|[^<.;,:])*/g, /--(?:date-order|system|log-language|unit|columns|encoding|sheet)\b(?: (?:dmy|mdy|de|EPSG:\d+|\d{4}|\p{Lu}{3,}))?(?: or mdy)?/gu, /\s*:? ?--[a-z][a-z-]{2,}(?: \p{Lu}{3,})?/gu];
const texts = (html) => commandTalk.reduce((t, from) => t.replace(from, ""), html.replace(/<style[\s\S]*?<\/style>/g, "").replace(/“(Understood|Mend)”/g, "")).replace(/<style[\s\S]*?<\/style>/g, "").replace(/<[^>]*>/g, " ").replace(/\s+/g, " ").trim();

async function drop(...list) {
  const began = Date.now();
  await b.drop(list);
  const name = list.filter((f) => !/\.png$/.test(f)).length > 1 ? "All together" : basename(list[0]);
  await b.until(shown(name), `the report of ${name}`);
  return Date.now() - began;
}
const keepFrame = async (name, id) => framed.set(name, await b.evaluate(`document.getElementById("${id}").srcdoc`));
const download = async (what, click) => {
  const before = readdirSync(folder).length;
  await b.evaluate("document.getElementById('status').textContent = ''");
  await b.evaluate(click);
  await b.until(`${status}.endsWith("with your downloads.")`, `the download ${what}`);
  for (let i = 0; i < 200 && (readdirSync(folder).length === before || readdirSync(folder).some((f) => f.endsWith(".crdownload"))); i++) await new Promise((done) => setTimeout(done, 50));
};
// An earlier download may still be coming in when the next begins: a file that is needed is waited for by its name.
const arrived = async (part) => {
  for (let i = 0; i < 200; i++) {
    const name = readdirSync(folder).find((f) => f.includes(part) && !f.endsWith(".crdownload"));
    if (name) return name;
    await new Promise((done) => setTimeout(done, 50));
  }
  throw new Error(`no download whose name has ${part}: ${readdirSync(folder).join(", ")}`);
};
const frameOf = (id) => `document.getElementById("${id}").contentDocument`;

try {
  if (statSync(page).size > 9e6) fail(`the page has ${statSync(page).size} bytes, more than 9 MB`);
  await b.width(390);
  await b.send("Browser.setDownloadBehavior", { behavior: "allow", downloadPath: folder });
  let began = Date.now();
  await b.open(pathToFileURL(page).href);
  await b.until("document.getElementById('status')?.textContent === 'Ready.'", "the program");
  const ready = Date.now() - began;
  await pictured("open");

  // A find written down by hand is a log; what is grave is said at once; a kept file is gone on with.
  const byHand = async (find) => {
    await b.evaluate(`(() => { for (const [k, v] of Object.entries(${JSON.stringify(find)})) document.querySelector('#find [name="' + k + '"]').value = v; document.getElementById("find-add").click(); })()`);
    await b.until(`document.getElementById("waiting").hidden && ${status}.startsWith("Find ")`, "the find to be written down");
  };
  await b.until("document.querySelector('#find [name=name]')", "the form");
  await b.evaluate("document.getElementById('writing').open = true");
  await byHand({ name: "button, \"navy\"", depth: "15 cm", "materials.1": "brass", "position.verbatim": "52.41100, 0.31200" });
  await byHand({ name: "hand grenade, live" });
  same("the danger of what was written down", (await b.evaluate("document.getElementById('find-danger').textContent")).includes("do not touch"), true);
  same("the next number", await b.evaluate("document.querySelector('#find [name=number]').value"), "3");
  await pictured("write");
  await download("what was written down", "document.getElementById('found-keep').click()");
  const noted = join(folder, await arrived("finds-written-here"));
  same("a find written down", JSON.parse(command("convert", noted, "--to", "findslip", "-o", "-", "--fail-on", "never")).finds.map((f) => [f.number, f.name, f.depth?.min, f.position?.latitude]), [["1", "button, \"navy\"", 15, 52.411], ["2", "hand grenade, live", null, null]].map((l) => l.map((x) => x ?? undefined)));
  await b.evaluate("document.querySelector('#files .away').click()");
  await b.drop([noted]);
  await b.until("document.querySelectorAll('#found li').length === 2", "the finds that were kept");
  await step("open");
  await b.evaluate("document.querySelector('#files .away').click()");
  same("finds after the file was taken away", await b.evaluate("document.querySelectorAll('#found li').length"), 0);
  rmSync(noted);

  const day = await b.evaluate("(() => { const d = new Date(); return [d.getFullYear(), d.getMonth() + 1, d.getDate()].map((n) => String(n).padStart(2, '0')).join('-'); })()");
  for (const file of files) {
    const name = basename(file), took = await drop(file);
    const html = await b.evaluate("document.getElementById('report').srcdoc");
    const want = command("check", file, "--report", "html", "--as-of", day, "--fail-on", "never");
    const tool = (text) => texts(text).replace(/findslip \S+/g, "findslip");
    same(`${name}: the report`, tool(html), tool(want));
    console.log(`${name}: ${took} ms from the drop to the report`);
  }

  // Every step, with the first file.
  const [file] = files, name = basename(file);
  await drop(file);
  same("focus after opening", await b.evaluate("document.activeElement.closest('section')?.id"), "look");
  await pictured("look");
  // A link within the report scrolls, and does not lead the frame away.
  if (await b.evaluate(`(() => { const a = ${frameOf("report")}.querySelector('a[href^="#"]'); a?.click(); return !!a; })()`)) {
    await new Promise((done) => setTimeout(done, 300));
    same("the report after a link in it", await b.evaluate(`(${frameOf("report")}?.body?.textContent.length ?? 0) > 200`), true);
  }
  await step("understood");
  await b.until("document.querySelectorAll('#plan select').length > 2", "the headings");
  await pictured("understood");
  await step("mend");
  await b.until("document.querySelector('#proposals li') || !document.getElementById('none').hidden", "proposals");
  await pictured("mend");
  const proposed = await b.evaluate("document.querySelectorAll('#proposals li').length");
  if (proposed) await b.evaluate("document.querySelectorAll('#proposals li input[type=radio]')[1]?.click()");
  // What is typed in one box stays when the next one is gone to by a tap, and what is typed there finds it.
  writeFileSync(join(folder, "boxes.csv"), "No,Date,Find,Depth\n1,31/4/2026,button,12 cm\n2,45/4/2026,buckle,14 cm\n3,1/4/2026,nail,9 cm\n");
  await drop(join(folder, "boxes.csv"));
  await step("mend");
  await b.until("document.querySelectorAll('#proposals input[type=text]').length >= 2 && document.getElementById('proposals').innerText.includes('45/4/2026')", "two boxes");
  for (const [i, text] of ["30/4/2026", "25/4/2026"].entries()) {
    const at = await b.evaluate(`(() => { for (const d of document.querySelectorAll("#proposals details")) d.open = true; const box = document.querySelectorAll("#proposals input[type=text]")[${i}]; box.scrollIntoView({ block: "center" }); const r = box.getBoundingClientRect(); return [r.x + 20, r.y + 10]; })()`);
    for (const type of ["mousePressed", "mouseReleased"]) await b.send("Input.dispatchMouseEvent", { type, x: at[0], y: at[1], button: "left", clickCount: 1 });
    await b.send("Input.insertText", { text });
  }
  same("what was typed in two boxes", await b.evaluate("[...document.querySelectorAll('#proposals input[type=text]')].slice(0, 2).map((x) => x.value)"), ["30/4/2026", "25/4/2026"]);
  same("corrections counted", (await b.evaluate("document.getElementById('mended').textContent")).startsWith("2 corrections"), true);
  // Somebody at a choice stays there when the log is read again for it.
  await step("understood");
  await b.until("document.querySelectorAll('#plan select').length === 4", "the headings again");
  await b.evaluate("(() => { const s = document.querySelectorAll('#plan select')[3]; s.focus(); s.dispatchEvent(new Event('change')); })()");
  await b.until(`${status} === ""`, "that the log was read again");
  same("focus after a choice", await b.evaluate("[...document.querySelectorAll('#plan select')].indexOf(document.activeElement)"), 3);
  rmSync(join(folder, "boxes.csv"));
  await step("open");
  await b.evaluate(`[...document.querySelectorAll("#files li")].find((x) => x.firstElementChild.dataset.name === "boxes.csv").querySelector(".away").click()`);
  await drop(file);
  await step("where");
  await b.until(`${frameOf("plans")}?.querySelectorAll("svg.plan").length >= 1 && ${frameOf("plans")}.readyState === "complete"`, "the plans");
  await keepFrame("where", "plans");
  await pictured("where");
  await b.evaluate("document.getElementById('drawing').open = true");
  const board = await b.evaluate("(() => { const r = document.querySelector('#sketch svg').getBoundingClientRect(); scrollTo(0, r.top + scrollY - 100); const q = document.querySelector('#sketch svg').getBoundingClientRect(); return [q.left, q.top, q.width, q.height]; })()");
  for (const [x, y] of [[0.3, 0.3], [0.7, 0.3], [0.7, 0.7], [0.3, 0.7]]) {
    for (const type of ["mousePressed", "mouseReleased"]) await b.send("Input.dispatchMouseEvent", { type, x: board[0] + board[2] * x, y: board[1] + board[3] * y, button: "left", clickCount: 1 });
  }
  same("corners that were tapped", await b.evaluate("document.querySelectorAll('#sketch circle').length"), 4);
  await pictured("draw");
  await b.evaluate("document.getElementById('close').click()");
  await b.until(`!document.getElementById("keep-outlines").disabled && document.querySelectorAll('#sketch circle').length === 0`, "the outline to be taken");
  await download("outlines", "document.getElementById('keep-outlines').click()");
  const drawn = JSON.parse(readFileSync(join(folder, readdirSync(folder)[0])));
  same("the outline that was drawn", drawn.features[0].geometry.coordinates[0].length, 5);
  rmSync(join(folder, readdirSync(folder)[0]));
  await drop(file); // without the outline, which stays with the page else
  await step("season");
  await b.until(`${frameOf("year-page")}?.querySelectorAll("svg.chart").length >= 6`, "the season");
  await keepFrame("season", "year-page");
  same("a field in a season to show", await b.evaluate(`${frameOf("year-page")}.body.innerText.includes("Long Furlong")`), false);
  await pictured("season");
  await b.evaluate("(() => { const s = document.getElementById('season-for'); s.value = 'self'; s.dispatchEvent(new Event('change')); })()");
  await b.until(`${frameOf("year-page")}?.body?.innerText.includes("Long Furlong")`, "the season for oneself");
  await keepFrame("season-self", "year-page");
  // Once another reader is chosen, nothing of the page for the last one can be kept, printed or seen.
  same("the page for oneself, once another reader is chosen", await b.evaluate(`(() => { const s = document.getElementById('season-for'); s.value = 'public'; s.dispatchEvent(new Event('change'));
    return [document.getElementById('year-page').srcdoc, ...['print-season', 'keep-season', 'keep-figures'].map((id) => document.getElementById(id).disabled)]; })()`), ["", true, true, true]);
  await b.until(`!document.getElementById('keep-season').disabled && !${frameOf("year-page")}?.body?.innerText.includes("Long Furlong")`, "the season for anybody");
  await download("the season for anybody", "document.getElementById('keep-season').click()");
  const forAll = join(folder, await arrived("season-anybody.html"));
  same("a place in the season for anybody", readFileSync(forAll, "utf8").includes("Long Furlong"), false);
  rmSync(forAll);
  await step("take");
  await pictured("take");
  for (const kind of ["mark", "xlsx", "findslip", "geojson", "csv"]) {
    await download(kind, `document.querySelector("[data-take=${kind}]").click()`);
  }
  const kept = readdirSync(folder);
  if (kept.length !== 5) fail(`5 downloads were asked for, there are ${kept.join(", ")}`);
  for (const one of kept) command("check", join(folder, one), "--fail-on", "never", "--report", "json");
  const report = JSON.parse(readFileSync(join(folder, kept.find((f) => f.endsWith(".findslip.json")))));
  const plain = JSON.parse(command("convert", file, "--to", "findslip", "-o", "-", "--as-of", day, "--fail-on", "never"));
  same("finds in the report that was taken along", report.finds.length, plain.finds.length);

  // A copy for each kind of reader: seen before it is kept, the register first, and nothing exact in the public one.
  await step("hand");
  await b.until("document.querySelectorAll('#lands input').length > 0", "the fields");
  await pictured("hand");
  for (const whom of ["public", "landowner", "expert", "recorder"]) { // the register of the first serves the others
    await b.evaluate(`document.querySelector("[name=for][value=${whom}]").click()`);
    if (whom === "landowner") await b.evaluate("document.getElementById('lands').hidden || document.querySelector('#lands input').click()");
    if (whom === "public") {
      await b.evaluate("document.querySelector('#handing [type=submit]').click()");
      await b.until("!document.getElementById('trouble').hidden", `that a copy for ${whom} asks for the register`);
      await b.evaluate("document.getElementById('never').click()");
    }
    await b.evaluate("document.querySelector('#handing [type=submit]').click()");
    await b.until("!document.getElementById('made').hidden", `the copy for ${whom}`);
    await pictured(`hand-${whom}`);
    if (whom === "landowner" || whom === "expert") await keepFrame(`hand-${whom}`, "preview");
    else if (!await b.evaluate("document.querySelectorAll('#seen td').length")) fail(`${whom}: nothing is shown of the copy`);
    same(`${whom}: the copy waits for the register`, await b.evaluate("document.getElementById('keep-copy').disabled"), true);
    if (!await b.evaluate("document.getElementById('keeps').hidden")) {
      await b.evaluate("document.getElementById('keep-register').click()");
      same(`${whom}: the copy can be kept`, await b.evaluate("document.getElementById('keep-copy').disabled"), false);
    } else fail(`${whom}: no copy: ${await b.evaluate("document.getElementById('says').innerText")}`);
  }

  // An answer that came back: the register is at hand, and the copy for the recorder with a word typed over is one.
  await download("the copy for the recorder", "document.getElementById('keep-copy').click()");
  const sent = await arrived("recorder");
  const answer = join(folder, "answer.findslip.json");
  command("convert", join(folder, sent), "--to", "findslip", "-o", answer, "--fail-on", "never");
  writeFileSync(answer, readFileSync(answer, "utf8").replace('"name": "crotal bell, small"', '"name": "rumbler bell"'));
  await step("back");
  writeFileSync(join(folder, "sums.txt"), "my notes of the day\nnothing of a log\n");
  await b.put("#came", [join(folder, "sums.txt")]);
  await b.until("!document.getElementById('trouble').hidden", "that notes are neither an answer nor a log");
  same("notes that came back can be kept", await b.evaluate("document.getElementById('back-keep').hidden"), true);
  rmSync(join(folder, "sums.txt"));
  await pictured("back-empty");
  await b.put("#came", [answer]);
  await b.until("document.querySelectorAll('#answers input').length > 0", "the proposals of the answer");
  await pictured("back");
  await b.evaluate("document.getElementById('back-all').click()");
  await download("the log with the answer", "document.getElementById('keep-merged-json').click()");
  const renewed = readFileSync(join(folder, await arrived("-new.findslip.json")), "utf8");
  if (!renewed.includes("rumbler bell") || !renewed.includes('"crotal bell, small"')) fail("what was accepted is not in the new log, or has taken the place of the finder's words");
  // Let go on the first page among the logs, it is told from one and put where answers belong.
  await step("open");
  await b.evaluate("document.getElementById('answers').replaceChildren()");
  await b.drop([file, files[1], answer, join(folder, await arrived("register.jsonl"))]);
  await b.until("!document.getElementById('back').hidden && document.querySelectorAll('#answers input').length > 0", "an answer among the logs");
  same("an answer among the logs", await b.evaluate("[...document.querySelectorAll('#files button[data-name]')].some((x) => x.dataset.name.startsWith('answer'))"), false);

  // Two finders' fields of one name are two, and each owner sees one of them; words left out of a copy can be let go.
  const club = ["Agda Morrow,Long Acre,half penny Geo III,52.411,0.312", "Bertil Quane,Long Acre,nail,52.429,0.333"].map((row, n) => {
    writeFileSync(join(folder, `club ${n + 1}.csv`), `No,Date,Finder,Field,Object,Lat,Lon\n${n + 1},2025-02-2${n},${row}\n`);
    return join(folder, `club ${n + 1}.csv`);
  });
  const copyFor = async (whom, more = "") => {
    await b.evaluate(`document.querySelector("[name=for][value=${whom}]").click(); ${more}; document.querySelector('#handing [type=submit]').click()`);
    await b.until("!document.getElementById('made').hidden", `the copy for ${whom}`);
  };
  const leave = (names) => b.evaluate(`for (const x of [...document.querySelectorAll("#files li")]) if (!${JSON.stringify(names)}.includes(x.firstElementChild.dataset.name)) x.querySelector(".away")?.click()`);
  await b.drop(club);
  await b.until(shown("All together"), "the report of the club");
  await step("open");
  await leave(club.map((c) => basename(c)).concat("*"));
  await b.until(`${status}.endsWith("was read.")`, "the club alone");
  await step("hand");
  await b.until("document.querySelectorAll('#lands input').length === 2", "two fields of one name");
  same("fields of one name", await b.evaluate("[...document.querySelectorAll('#lands label')].map((l) => l.textContent.trim())"), ["Long Acre (Agda Morrow)", "Long Acre (Bertil Quane)"]);
  await copyFor("landowner", "document.querySelectorAll('#lands input')[1].click()");
  const owner = await b.evaluate("document.getElementById('preview').srcdoc");
  if (owner.includes("52.411") || !owner.includes("52.429")) fail("the owner of one field reads of another of its name");
  await copyFor("expert");
  same("words left out", await b.evaluate("[...document.querySelectorAll('#words-list b')].map((l) => l.textContent)"), ["half penny Geo III"]);
  await b.evaluate("document.querySelector('#words-list input').click(); document.getElementById('words-go').click()");
  await b.until(`${frameOf("preview")}?.body?.innerText.includes("half penny Geo III")`, "the words that may go");
  await b.drop([file]);
  await b.until(shown(name), "the first log again");
  await step("open");
  await leave([name]);

  // Several logs at once are one, photos come along, and another finder's log is merged.
  const picture = join(folder, "001.png");
  writeFileSync(picture, Buffer.from("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==", "base64"));
  if (files.length > 2) {
    const took = await drop(...files, picture);
    console.log(`${files.length} logs at once: ${took} ms from the drop to the report`);
    same("logs that lie open", await b.evaluate("document.querySelectorAll('#files button:not(.away)').length"), files.length + 1);
    same("photos that lie open", await b.evaluate("document.querySelectorAll('#beside li').length") > 0, true);
    await b.evaluate("document.getElementById('season-for').selectedIndex = 0"); // the reader of before was anybody
    await step("season");
    await b.until(`${status} === "" && ${frameOf("year-page")}?.querySelectorAll("svg.chart").length >= 6`, "the season of several");
    await step("take");
    await download("several as one", `document.querySelector("[data-take=findslip]").click()`);
    await step("open");
    await pictured("several");
    await drop(file);
    await step("back");
    await b.put("#came", [files[2]]);
    await b.until("document.querySelectorAll('#answers li').length > 0 || document.getElementById('back-says').textContent !== ''", "the questions of a merge");
  }

  // The languages; the last stays on for the next check. What a page says in one must not be what it says in English: a
  // text of two words and more that stands on both is a fault, but for names, words of the log and forms of the format.
  const alike = /^(Taken out|season\.csv|Long Furlong|Chapel Piece|Findslip|findslip [\d.]+|Nederlands|Shipley Cross|(Jan|Apr|Jun|Aug|Sep|Nov) \d{4} – |[\d.,:/ -]+)|EPSG|GB-ENG|findslip\.register/i;
  const inLog = readFileSync(files.find((f) => f.endsWith(".csv")), "utf8").toLowerCase();
  const ofLog = (t) => t.split(/, | · |: |[“”"▲●◆○]/).every((part) => inLog.includes(part.trim().toLowerCase()));
  const textsOf = (root) => `((root) => { const out = [], walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT); while (walk.nextNode()) { const t = walk.currentNode; if (!t.parentElement.closest("script, style, #tongue, .code, #plan th, .samples, .slips, .places, .field, svg, .best")) out.push(t.data.trim()); } return out; })(${root})`;
  const said = async () => {
    const all = [];
    for (const name of ["look", "understood", "mend", "season", "take", "hand", "back"]) {
      await step(name);
      await b.until(`document.getElementById("waiting").hidden && !/…$/.test(${status})`, name);
      await new Promise((done) => setTimeout(done, 500));
      all.push(...await b.evaluate(textsOf(`document.getElementById("${name}")`)));
      if (name === "look" || name === "season") all.push(...await b.evaluate(textsOf(`${frameOf(name === "look" ? "report" : "year-page")}.body`)));
    }
    await step("look");
    return new Set(all.filter((t) => (t.match(/\p{L}{3,}/gu) ?? []).length > 1 && !alike.test(t) && !ofLog(t)));
  };
  const english = await said();
  for (const tongue of ["de", "nl", "fr", "da", "sv"]) {
    await b.evaluate(`(() => { const t = document.getElementById("tongue"); t.value = "${tongue}"; t.dispatchEvent(new Event("change")); })()`);
    await b.until(`document.getElementById("report").contentDocument?.documentElement?.lang === "${tongue}"`, `the report in ${tongue}`);
    same(`${tongue}: what has no words`, await b.evaluate("[...document.querySelectorAll('[data-say]')].filter((e) => e.id !== 'status' && (!e.textContent || e.textContent === e.dataset.say)).length"), 0);
    same(`${tongue}: said as in English`, [...await said()].filter((t) => english.has(t)), []);
    same(`${tongue}: wider than the phone`, await b.evaluate("document.documentElement.scrollWidth > innerWidth"), false);
  }
  await b.evaluate(`(() => { const t = document.getElementById("tongue"); t.value = "en"; t.dispatchEvent(new Event("change")); })()`);
  await b.until(`document.getElementById("report").contentDocument?.documentElement?.lang === "en"`, "the report in English again");

  // What is no log is told, and the page goes on. A stop ends the work and the page can be used again.
  await b.evaluate(`(() => { const d = new DataTransfer(); d.items.add(new File([new Uint8Array([0, 1, 2])], "x.pages")); document.dispatchEvent(new DragEvent("drop", { dataTransfer: d, bubbles: true })); })()`);
  await b.until("!document.getElementById('trouble').hidden", "that a file is no log");
  await b.evaluate("document.getElementById('stop').click()");
  await drop(file);

  // Nothing leaves and nothing is kept.
  const asked = b.heard.filter((m) => m.method === "Network.requestWillBeSent").map((m) => m.params.request.url).filter((url) => !/^(file|blob|data|about):/.test(url));
  same("what was asked of the network", asked, []);
  same("the page reaches a server", await b.evaluate(`fetch("http://127.0.0.1:9/").then(() => "reached", (e) => e.name)`), "TypeError");
  const blocked = await b.evaluate(`new Promise((done) => { document.addEventListener("securitypolicyviolation", (e) => done(e.effectiveDirective), { once: true }); fetch("http://127.0.0.1:9/").catch(() => {}); setTimeout(() => done("nothing"), 3000); })`);
  same("by the policy", blocked, "connect-src");
  same("a form is sent", await b.evaluate(`new Promise((done) => { document.addEventListener("securitypolicyviolation", (e) => done(e.effectiveDirective), { once: true }); const f = document.createElement("form"); f.action = "http://127.0.0.1:9/"; document.body.append(f); f.submit(); setTimeout(() => done("sent"), 3000); })`), "form-action");
  same("what is kept", await b.evaluate(`(() => { let n = 0; try { n += localStorage.length + sessionStorage.length; } catch {} return [n, document.cookie, document.title, location.search]; })()`), [0, "", "Findslip", ""]);
  if (!/^#[a-z]*$/.test(await b.evaluate("location.hash || '#'"))) fail("the address holds more than the name of a step");

  // What a screen reader is told, and what a finger needs.
  const { nodes } = await b.send("Accessibility.getFullAXTree");
  const reached = nodes.filter((n) => !n.ignored && ["button", "combobox", "link", "textbox", "checkbox", "DisclosureTriangle"].includes(n.role?.value));
  same("nameless for a screen reader", reached.filter((n) => !n.name?.value).map((n) => n.role.value), []);
  if (reached.length < 6) fail(`a screen reader is told of ${reached.length} controls only`);
  // The pages in frames, by themselves.
  if (axe) {
    const work = mkdtempSync(join(tmpdir(), "frame-"));
    for (const [name, html] of framed) {
      writeFileSync(join(work, `${name}.html`), html);
      await b.open(pathToFileURL(join(work, `${name}.html`)).href);
      await b.until("document.readyState === 'complete' && document.body.innerText.length > 20", name);
      await accessible(`the page of ${name}`);
      for (const width of [390, 1280]) {
        await b.width(width);
        same(`${name} at ${width}: wider than the screen`, await b.evaluate("document.documentElement.scrollWidth > innerWidth"), false);
      }
      await b.width(390);
    }
    rmSync(work, { recursive: true, force: true });
    console.log(`axe could not judge by itself: ${[...incomplete].map(([id, n]) => `${id} (${n})`).join(", ") || "nothing"}`);
  }
  const { usedSize } = await b.send("Runtime.getHeapUsage");
  console.log(`ready ${ready} ms after the file was opened, ${(statSync(page).size / 1e6).toFixed(1)} MB, ${(usedSize / 1e6).toFixed(0)} MB of memory beside the program`);
} catch (error) {
  fail(String(error.stack ?? error));
} finally {
  await b.close();
  rmSync(folder, { recursive: true, force: true, maxRetries: 5 });
}
if (failures) process.exit(1);
