import { Findslip } from "./findslip.mjs";

const findslip = new Findslip();
const byId = (id) => document.getElementById(id);
const [form, file, drop, status, trouble, result] = ["form", "file", "drop", "status", "trouble", "result"].map(byId);
const shown = 50; // places of a group that are listed
let chosen = null;
let latest = 0;

findslip.ready.then(() => { if (!chosen) status.textContent = "Ready. Choose a file."; }, fail);

form.addEventListener("submit", (event) => event.preventDefault());
file.addEventListener("change", () => file.files[0] && take(file.files[0]));
byId("level").addEventListener("change", () => chosen && check());
// A file may be let go anywhere on the page; a browser would open it in place of the page otherwise.
for (const kind of ["dragover", "dragleave", "drop"]) {
  document.addEventListener(kind, (event) => {
    event.preventDefault();
    drop.classList.toggle("over", kind === "dragover");
    if (kind !== "drop") return;
    const files = event.dataTransfer?.files ?? [];
    if (files.length > 1) fail(new Error(`${files.length} files were dropped, and one at a time is checked`));
    else if (files.length === 1) take(files[0]);
    else fail(new Error("what was dropped is not a file"));
  });
}
for (const button of document.querySelectorAll("#downloads button")) button.addEventListener("click", () => download(button));

async function take(picked) {
  try {
    chosen = { name: picked.name, content: await picked.arrayBuffer() };
  } catch {
    return fail(new Error("the browser cannot read this file"));
  }
  await check();
}

async function check() {
  const run = ++latest;
  trouble.hidden = true;
  result.hidden = true;
  status.textContent = `Checking ${chosen.name} …`;
  try {
    const report = await findslip.check(chosen.name, chosen.content, options());
    if (run !== latest) return; // another file has been chosen since
    show(report);
  } catch (error) {
    if (run === latest) fail(error);
  }
}

function options() {
  const now = new Date();
  const two = (n) => String(n).padStart(2, "0");
  return { level: byId("level").value, asOf: `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}` };
}

function fail(error) {
  status.textContent = "";
  trouble.textContent = `This could not be done: ${error.message}.`;
  trouble.hidden = false;
}

const words = { caution: "! Caution", error: "✕ Error", warning: "△ Warning", info: "i Information" };
const count = (n, one, more = one + "s") => `${n} ${n === 1 ? one : more}`;

function show(report) {
  const s = report.summary;
  byId("outcome").textContent = `${count(s.finds, "find")}: ${count(s.cautions, "caution")}, ${count(s.errors, "error")}, ${count(s.warnings, "warning")}, ${s.info} for information`;
  const groups = new Map();
  for (const notice of report.notices) {
    if (!groups.has(notice.code)) groups.set(notice.code, []);
    groups.get(notice.code).push(notice);
  }
  const kindOf = ([first]) => (first.caution ? "caution" : first.severity);
  const order = Object.keys(words);
  const sorted = [...groups.values()].sort((a, b) => order.indexOf(kindOf(a)) - order.indexOf(kindOf(b)) || b.length - a.length);
  byId("groups").replaceChildren(...sorted.map((list) => group(kindOf(list), list)));
  deadlines(report.deadlines ?? []);
  if (!sorted.length) byId("groups").append(element("p", "There is nothing to ask about."));
  status.textContent = `Checked ${chosen.name}.`;
  result.hidden = false;
  byId("outcome").focus();
}

// Everything that comes from the file is set as text, never as markup.
function element(name, text = "", kind = "") {
  const e = document.createElement(name);
  e.textContent = text;
  if (kind) e.className = kind;
  return e;
}

const sentence = (text) => text[0].toUpperCase() + text.slice(1);

function group(kind, list) {
  const box = element("div", "", `group ${kind}`);
  box.append(element("span", words[kind], "tag"), element("h3", sentence(list[0].title)));
  if (list[0].help) box.append(element("p", sentence(list[0].help), "help"));
  const details = element("details");
  details.open = kind === "caution" || list.length <= 3;
  details.append(element("summary", count(list.length, "place")));
  const places = element("ul");
  for (const notice of list.slice(0, shown)) places.append(element("li", `${place(notice)}: ${notice.message}`));
  if (list.length > shown) places.append(element("li", `and ${list.length - shown} more`));
  details.append(places);
  box.append(details, element("code", list[0].code));
  return box;
}

// Time limits of one day, duty, source and standing are one line, with all finds it stands for.
function deadlines(list) {
  const lines = new Map();
  for (const d of list) {
    const key = JSON.stringify([d.day, d.time, d.what, d.source, d.status]);
    if (!lines.has(key)) lines.set(key, []);
    lines.get(key).push(d);
  }
  byId("due").replaceChildren(...[...lines.values()].map(limit));
  byId("limits").hidden = !list.length;
}

function limit(list) {
  const [first] = list;
  const line = element("li", "", first.status);
  const names = list.slice(0, shown).map((d) => d.find ?? "without a number");
  if (list.length > shown) names.push(`and ${list.length - shown} more`);
  const day = element(first.day ? "time" : "span", first.day ?? first.time);
  if (first.day) day.dateTime = first.day;
  line.append(day, element("strong", standing(first)), element("span", `${first.what}, ${list.length === 1 ? "find" : "finds"} ${names.join(", ")}`));
  line.append(element("small", first.checked ? `${first.source}, as checked on ${first.checked}` : first.source));
  return line;
}

function standing(d) {
  if (d.status === "reported") return "a report is recorded";
  if (d.daysLeft === undefined) return "no report is recorded";
  if (d.daysLeft < 0) return `past by ${count(-d.daysLeft, "day")}, no report is recorded`;
  return d.daysLeft === 0 ? "ends today, no report is recorded" : `${count(d.daysLeft, "day")} left, no report is recorded`;
}

function place(n) {
  const find = n.find ? `find ${n.find}` : "the report";
  if (n.cell && n.find?.startsWith("urn:")) return `${n.sheet ? n.sheet + " " : ""}${n.cell}`; // it has no number
  if (n.cell) return `${n.sheet ? n.sheet + " " : ""}${n.cell}, ${find}`;
  if (n.line) return `line ${n.line}, ${find}`;
  return n.pointer ? `${find}, ${n.pointer}` : find;
}

async function download(button) {
  button.disabled = true;
  status.textContent = `Converting ${chosen.name} …`;
  try {
    const { content } = await findslip.convert(chosen.name, chosen.content, button.dataset.to, options());
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([content], { type: button.dataset.to === "csv" ? "text/csv" : "application/json" }));
    link.download = `${chosen.name.replace(/\.[^.]*$/, "").replace(/\.findslip$/, "")}.${button.dataset.end}`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    status.textContent = `${link.download} was handed to the browser to keep.`;
  } catch (error) {
    fail(error);
  }
  button.disabled = false;
}
