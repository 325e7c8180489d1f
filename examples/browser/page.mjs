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
for (const kind of ["dragover", "dragleave", "drop"]) {
  document.addEventListener(kind, (event) => {
    event.preventDefault();
    drop.classList.toggle("over", kind === "dragover");
    if (kind === "drop" && event.dataTransfer.files[0]) take(event.dataTransfer.files[0]);
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

function group(kind, list) {
  const box = element("div", "", `group ${kind}`);
  const title = list[0].title;
  box.append(element("span", words[kind], "tag"), element("h3", title[0].toUpperCase() + title.slice(1)));
  if (list[0].help) box.append(element("p", list[0].help, "help"));
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
    link.href = URL.createObjectURL(new Blob([content], { type: "application/json" }));
    link.download = `${chosen.name.replace(/\.[^.]*$/, "").replace(/\.findslip$/, "")}.${button.dataset.end}`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
    status.textContent = `${link.download} was handed to the browser to keep.`;
  } catch (error) {
    fail(error);
  }
  button.disabled = false;
}
