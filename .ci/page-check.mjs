// node page-check.mjs PAGE FINDSLIP FILE... [--pictures FOLDER]: the page in headless Chromium, opened from disk as by a
// double click. Each FILE is dropped on it; what the page then shows is compared with what the command says of the same
// file. Every step is gone through, every download is taken and read again by the command; nothing may be asked of any
// address, or kept. Prints how long things took. --pictures keeps screenshots at two widths, light and dark.
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, readdirSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join, resolve } from "node:path";
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
  if (JSON.stringify(got) !== JSON.stringify(want)) fail(`${what}: the page has ${JSON.stringify(got)?.slice(0, 600)}, wanted ${JSON.stringify(want)?.slice(0, 600)}`);
};
const command = (...args) => execFileSync(findslip, args, { maxBuffer: 1 << 28, stdio: ["ignore", "pipe", "ignore"] }).toString();
const step = (name) => b.evaluate(`document.querySelector("[data-step=${name}]").click()`);
const status = "document.getElementById('status').textContent";
const shown = (name) => `!document.getElementById("look").hidden && ${status}.includes(${JSON.stringify(name)}) && ${status}.endsWith("was read.")
  && document.getElementById("report").contentDocument?.readyState === "complete" && document.getElementById("report").contentDocument.body.innerText.length > 40`;
const pictured = async (name) => {
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
// The words of a page of HTML, without what differs from run to run.
const texts = (html) => html.replace(/<style[\s\S]*?<\/style>/g, "").replace(/<[^>]*>/g, " ").replace(/\s+/g, " ").trim();

async function drop(file) {
  const began = Date.now();
  await b.drop([file]);
  await b.until(shown(basename(file)), `the report of ${basename(file)}`);
  return Date.now() - began;
}

try {
  if (statSync(page).size > 9 << 20) fail(`the page has ${statSync(page).size} bytes, more than 9 MiB`);
  await b.width(390);
  await b.send("Browser.setDownloadBehavior", { behavior: "allow", downloadPath: folder });
  let began = Date.now();
  await b.open(pathToFileURL(page).href);
  await b.until("document.getElementById('status')?.textContent === 'Ready.'", "the program");
  const ready = Date.now() - began;
  await pictured("open");

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
  await step("understood");
  await b.until("document.querySelectorAll('#plan select').length > 2", "the headings");
  await pictured("understood");
  await step("mend");
  await b.until("document.querySelector('#proposals li') || !document.getElementById('none').hidden", "proposals");
  await pictured("mend");
  const proposed = await b.evaluate("document.querySelectorAll('#proposals li').length");
  if (proposed) await b.evaluate("document.querySelector('#proposals input[type=checkbox]').click()");
  await step("take");
  await pictured("take");
  for (const kind of ["mark", "xlsx", "findslip", "geojson", "csv"]) {
    const before = readdirSync(folder).length;
    await b.evaluate(`document.querySelector("[data-take=${kind}]").click()`);
    await b.until(`${status}.endsWith("with your downloads.")`, `the download ${kind}`);
    for (let i = 0; i < 100 && (readdirSync(folder).length === before || readdirSync(folder).some((f) => f.endsWith(".crdownload"))); i++) await new Promise((done) => setTimeout(done, 50));
    await b.evaluate("document.getElementById('status').textContent = ''");
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
  for (const whom of ["landowner", "expert", "recorder", "public"]) {
    await b.evaluate(`document.querySelector("[name=for][value=${whom}]").click()`);
    if (whom === "landowner") await b.evaluate("document.getElementById('lands').hidden || document.querySelector('#lands input').click()");
    if (whom === "public" || whom === "expert") {
      await b.evaluate("(() => { const t = document.getElementById('never'); if (t.checked) t.click(); document.querySelector('#handing [type=submit]').click(); })()");
      await b.until("!document.getElementById('trouble').hidden", `that a copy for ${whom} asks for the register`);
      await b.evaluate("document.getElementById('never').click()");
    }
    await b.evaluate("document.querySelector('#handing [type=submit]').click()");
    await b.until("!document.getElementById('made').hidden", `the copy for ${whom}`);
    await pictured(`hand-${whom}`);
    same(`${whom}: the copy waits for the register`, await b.evaluate("document.getElementById('keep-copy').disabled"), true);
    if (!await b.evaluate("document.getElementById('keeps').hidden")) {
      await b.evaluate("document.getElementById('keep-register').click()");
      same(`${whom}: the copy can be kept`, await b.evaluate("document.getElementById('keep-copy').disabled"), false);
    } else fail(`${whom}: no copy: ${await b.evaluate("document.getElementById('says').innerText")}`);
  }

  // The languages; the last stays on for the next check.
  for (const tongue of ["de", "nl", "fr", "da", "sv"]) {
    await b.evaluate(`(() => { const t = document.getElementById("tongue"); t.value = "${tongue}"; t.dispatchEvent(new Event("change")); })()`);
    await b.until(`document.getElementById("report").contentDocument?.documentElement?.lang === "${tongue}"`, `the report in ${tongue}`);
    same(`${tongue}: what has no words`, await b.evaluate("[...document.querySelectorAll('[data-say]')].filter((e) => e.id !== 'status' && (!e.textContent || e.textContent === e.dataset.say)).length"), 0);
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
  same("what is kept", await b.evaluate(`(() => { let n = 0; try { n += localStorage.length + sessionStorage.length; } catch {} return [n, document.cookie, document.title, location.hash + location.search]; })()`), [0, "", "Findslip", ""]);

  // What a screen reader is told, and what a finger needs.
  const { nodes } = await b.send("Accessibility.getFullAXTree");
  const reached = nodes.filter((n) => !n.ignored && ["button", "combobox", "link", "textbox", "checkbox", "DisclosureTriangle"].includes(n.role?.value));
  same("nameless for a screen reader", reached.filter((n) => !n.name?.value).map((n) => n.role.value), []);
  if (reached.length < 6) fail(`a screen reader is told of ${reached.length} controls only`);
  const { usedSize } = await b.send("Runtime.getHeapUsage");
  console.log(`ready ${ready} ms after the file was opened, ${(statSync(page).size / 1e6).toFixed(1)} MB, ${(usedSize / 1e6).toFixed(0)} MB of memory beside the program`);
} catch (error) {
  fail(String(error.stack ?? error));
} finally {
  await b.close();
  rmSync(folder, { recursive: true, force: true, maxRetries: 5 });
}
if (failures) process.exit(1);
