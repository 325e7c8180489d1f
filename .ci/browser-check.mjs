// node browser-check.mjs SITE FINDSLIP FILE DROPPED... [--pictures FOLDER]: the page of examples/browser in headless
// Chromium, over its debugging pipe. FILE is put into the page; what it then holds is compared with what the command
// says of the same file. Then the server is taken away and each DROPPED is dropped on the page, which has to say the
// same as the command. --pictures keeps screenshots at two widths.
import { spawn, execFileSync } from "node:child_process";
import { createServer } from "node:http";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, join, resolve } from "node:path";

const words = process.argv.slice(2);
const pictures = words.includes("--pictures") && resolve(words.splice(words.indexOf("--pictures"), 2)[1]);
const [site, findslip, file, ...dropped] = words.map((p) => resolve(p));
if (!dropped.length) throw new Error("browser-check SITE FINDSLIP FILE DROPPED...");
const types = { html: "text/html; charset=utf-8", css: "text/css", mjs: "text/javascript", js: "text/javascript", wasm: "application/wasm" };
const asked = [];
const server = createServer((request, response) => {
  const name = basename(request.url === "/" ? "index.html" : request.url);
  asked.push(`${request.method} ${request.url}`);
  try {
    const content = readFileSync(join(site, name));
    response.setHeader("Content-Type", types[name.split(".").pop()] ?? "application/octet-stream");
    response.end(content);
  } catch {
    response.statusCode = 404;
    response.end();
  }
});
await new Promise((done) => server.listen(0, "127.0.0.1", done));
const other = createServer((_, response) => { asked.push("ANOTHER SERVER"); response.setHeader("Access-Control-Allow-Origin", "*"); response.end(); });
await new Promise((done) => other.listen(0, "127.0.0.1", done));

const profile = mkdtempSync(join(tmpdir(), "browser-"));
const chromium = process.env.CHROMIUM ?? "chromium";
const browser = spawn(chromium, ["--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--disable-background-networking", "--remote-debugging-pipe", `--user-data-dir=${profile}`], { stdio: ["ignore", "ignore", "ignore", "pipe", "pipe"] });
const waiting = new Map();
let next = 1, rest = "";
browser.stdio[4].on("data", (chunk) => {
  const parts = (rest + chunk).split("\0");
  rest = parts.pop();
  for (const part of parts) {
    const message = JSON.parse(part);
    waiting.get(message.id)?.(message);
    waiting.delete(message.id);
  }
});
let session;
const send = (method, params = {}) => new Promise((done, failed) => {
  const id = next++;
  waiting.set(id, (m) => (m.error ? failed(new Error(`${method}: ${m.error.message}`)) : done(m.result)));
  browser.stdio[3].write(JSON.stringify({ id, method, params, sessionId: session }) + "\0");
});
const evaluate = async (expression) => {
  const r = await send("Runtime.evaluate", { expression, awaitPromise: true, returnByValue: true });
  if (r.exceptionDetails) throw new Error(r.exceptionDetails.exception?.description ?? r.exceptionDetails.text);
  return r.result.value;
};
const until = async (expression, what) => {
  for (let i = 0; i < 200; i++) {
    if (await evaluate(expression)) return;
    await new Promise((done) => setTimeout(done, 100));
  }
  throw new Error(`waited in vain for: ${what}; the page says ${JSON.stringify(await evaluate("document.body.innerText.slice(0, 500)"))}`);
};
const picture = async (name) => {
  if (!pictures) return;
  for (const width of [390, 1280]) {
    await send("Emulation.setDeviceMetricsOverride", { width, height: 900, deviceScaleFactor: 1, mobile: width < 600 });
    const { data } = await send("Page.captureScreenshot", { format: "png", captureBeyondViewport: true });
    writeFileSync(join(pictures, `${name}-${width}.png`), Buffer.from(data, "base64"));
  }
  await send("Emulation.setDeviceMetricsOverride", { width: 390, height: 844, deviceScaleFactor: 1, mobile: true });
};
let failures = 0, limits = 0;
const same = (what, got, want) => {
  if (JSON.stringify(got) === JSON.stringify(want)) return;
  failures++;
  console.log(`${what}: the page has ${JSON.stringify(got)?.slice(0, 600)}, wanted ${JSON.stringify(want)?.slice(0, 600)}`);
};

try {
  const { targetId } = await send("Target.createTarget", { url: "about:blank" });
  ({ sessionId: session } = await send("Target.attachToTarget", { targetId, flatten: true }));
  await send("Page.enable");
  await send("Emulation.setDeviceMetricsOverride", { width: 390, height: 844, deviceScaleFactor: 1, mobile: true });
  await send("Page.navigate", { url: `http://127.0.0.1:${server.address().port}/` });
  await until("document.getElementById('status')?.textContent.startsWith('Ready')", "the program");
  const loaded = asked.length;
  const focused = async () => {
    for (const type of ["keyDown", "keyUp"]) await send("Input.dispatchKeyEvent", { type, key: "Tab", code: "Tab", windowsVirtualKeyCode: 9 });
    return evaluate("document.activeElement.id || document.activeElement.dataset.to || document.activeElement.localName");
  };
  same("by the keyboard", [await focused(), await focused()], ["file", "level"]);
  await evaluate("scrollTo(0, 0)");
  await picture("start");
  const { root } = await send("DOM.getDocument");
  const { nodeId } = await send("DOM.querySelector", { nodeId: root.nodeId, selector: "#file" });
  await send("DOM.setFileInputFiles", { nodeId, files: [file] });
  await until("!document.getElementById('result').hidden", "notices");
  same("asked for once the program was ready", asked.slice(loaded), []);

  // What the page holds, and what the wrapper gives, against the command.
  const day = await evaluate("(() => { const d = new Date(); return [d.getFullYear(), d.getMonth() + 1, d.getDate()].map((n) => String(n).padStart(2, '0')).join('-'); })()");
  const want = JSON.parse(execFileSync(findslip, ["check", file, "--report", "json", "--fail-on", "never", "--as-of", day, "--quiet"], { maxBuffer: 1 << 28 }));
  const wantGeo = execFileSync(findslip, ["convert", file, "--to", "jsonl", "-o", "-", "--fail-on", "never", "--as-of", day, "--quiet"], { maxBuffer: 1 << 28 });
  const wantRead = execFileSync(findslip, ["read", "length", "--json", "8 1/2 in", "more than a foot"]).toString().trim().split("\n").map((l) => JSON.parse(l));
  const got = await evaluate(`(async () => {
    const { Findslip } = await import("./findslip.mjs");
    const findslip = new Findslip();
    const content = await document.getElementById("file").files[0].arrayBuffer();
    const report = await findslip.check(${JSON.stringify(basename(file))}, content, { asOf: ${JSON.stringify(day)} });
    const converted = await findslip.convert(${JSON.stringify(basename(file))}, content, "jsonl", { asOf: ${JSON.stringify(day)} });
    const read = await findslip.read("length", ["8 1/2 in", "more than a foot"]);
    let refused = "";
    try { await findslip.check("x.xlsx", new TextEncoder().encode("nothing")); } catch (error) { refused = error.message; }
    let workbook = "";
    try { await findslip.convert("x.csv", new TextEncoder().encode("Number,Depth\\n1,8 in\\n"), "xlsx"); } catch (error) { workbook = error.message; }
    findslip.close();
    return { report, jsonl: new TextDecoder().decode(converted.content), read, refused, workbook };
  })()`);
  const plain = (list) => list.map(({ file, ...n }) => n);
  if (want.notices.length < 5) throw new Error("the file draws too few notices to compare");
  same("summary", got.report.summary, want.summary);
  same("notices", plain(got.report.notices), plain(want.notices));
  same("not checked", got.report.notChecked, want.notChecked);
  const lines = (text) => text.trim().split("\n").map((line, i) => { const o = JSON.parse(line); if (i === 0) delete o.generator; if (i === 0 && o.report) delete o.report.generator; return o; });
  same("JSON Lines", lines(got.jsonl), lines(wantGeo.toString()));
  same("readings", got.read, wantRead);
  if (!got.refused) { failures++; console.log("what is no workbook is taken"); }
  if (!got.workbook.includes("cannot write workbooks")) { failures++; console.log(`a workbook: ${got.workbook}`); }

  const groups = await evaluate("[...document.querySelectorAll('.group')].map((g) => [g.querySelector('code').textContent, g.querySelector('.tag').textContent, g.querySelector('summary').textContent])");
  const counted = {};
  for (const n of want.notices) counted[n.code] = (counted[n.code] ?? 0) + 1;
  same("groups", Object.fromEntries(groups.map(([code, , places]) => [code, parseInt(places, 10)]).sort()), Object.fromEntries(Object.entries(counted).sort()));
  const rank = groups.map(([, tag]) => ["! Caution", "✕ Error", "△ Warning", "i Information"].indexOf(tag));
  same("order: cautions first", rank, rank.toSorted((a, b) => a - b));
  same("focus", await evaluate("document.activeElement.id"), "outcome");
  same("wider than the phone", await evaluate("document.documentElement.scrollWidth > innerWidth"), false);
  same("fields without a name", await evaluate("[...document.querySelectorAll('input, select, button')].filter((e) => !(e.labels?.length || e.textContent.trim())).length"), 0);

  // Nothing leaves: neither the page nor its worker can reach another server.
  const away = `http://127.0.0.1:${other.address().port}/`;
  same("the page reaches another server", await evaluate(`fetch(${JSON.stringify(away)}).then(() => true, () => false)`), false);
  same("its worker reaches another server", await evaluate(`new Promise((done) => {
    const w = new Worker(URL.createObjectURL(new Blob(["fetch(" + JSON.stringify(${JSON.stringify(away)}) + ").then(() => postMessage(true), () => postMessage(false))"], { type: "text/javascript" })), { type: "module" });
    globalThis.kept = w;
    w.onmessage = (event) => done(event.data);
    w.onerror = (event) => done("not started: " + event.message);
    setTimeout(() => done("no answer"), 10000);
  })`), false);
  const parts = new Set(["/", "/page.css", "/page.mjs", "/findslip.mjs", "/worker.mjs", "/wasm_exec.js", "/findslip.wasm"].map((p) => "GET " + p));
  same("what was asked for beside the parts of the page", asked.filter((a) => !parts.has(a)), []);

  // A download, by the keyboard.
  await send("Browser.setDownloadBehavior", { behavior: "allow", downloadPath: profile }).catch(() => {});
  await evaluate("document.querySelector('[data-to=geojson]').focus()");
  for (const type of ["keyDown", "keyUp"]) await send("Input.dispatchKeyEvent", { type, key: "Enter", code: "Enter", windowsVirtualKeyCode: 13, text: type === "keyDown" ? "\r" : undefined });
  await until("document.getElementById('status').textContent.includes('handed to the browser')", "the download");

  // Without its server: what is dropped is checked all the same, for nothing is asked of anyone.
  server.closeAllConnections();
  await new Promise((done) => server.close(done));
  const before = asked.length;
  for (const one of dropped) {
    const name = basename(one);
    await evaluate(`document.getElementById("status").textContent = "";
      const bytes = Uint8Array.from(atob(${JSON.stringify(readFileSync(one).toString("base64"))}), (c) => c.charCodeAt(0));
      const carried = new DataTransfer();
      carried.items.add(new File([bytes], ${JSON.stringify(name)}));
      const drop = document.getElementById("drop");
      drop.dispatchEvent(new DragEvent("dragover", { dataTransfer: carried, bubbles: true, cancelable: true }));
      globalThis.over = drop.classList.contains("over");
      globalThis.taken = !drop.dispatchEvent(new DragEvent("drop", { dataTransfer: carried, bubbles: true, cancelable: true }))`.replaceAll("const ", "var "));
    await until(`document.getElementById("status").textContent === ${JSON.stringify(`Checked ${name}.`)}`, `notices of ${name}, which was dropped`);
    same(`${name}: the zone shows that it would take it, takes it, and is as before`, await evaluate("[over, taken, drop.classList.contains('over')]"), [true, true, false]);
    const said = JSON.parse(execFileSync(findslip, ["check", one, "--report", "json", "--fail-on", "never", "--as-of", day, "--quiet"], { maxBuffer: 1 << 28 }));
    same(`${name}: outcome`, (await evaluate("document.getElementById('outcome').textContent")).match(/\d+/g).map(Number), [said.summary.finds, said.summary.cautions, said.summary.errors, said.summary.warnings, said.summary.info]);
    const due = await evaluate("document.getElementById('limits').hidden ? [] : [...document.querySelectorAll('#due li')].map((li) => li.innerText)");
    const lines = new Map((said.deadlines ?? []).map((d) => [[d.day, d.time, d.what, d.source, d.status].join("|"), d]));
    same(`${name}: time limits`, due.length, lines.size);
    [...lines.values()].forEach((d, i) => {
      const left = d.status === "reported" ? "a report is recorded" : d.daysLeft < 0 ? `past by ${-d.daysLeft} day` : d.daysLeft > 0 ? `${d.daysLeft} day` : "no report";
      for (const part of [d.day ?? d.time, d.what, d.source, left]) if (!due[i]?.includes(part)) { failures++; console.log(`${name}: the time limit ${JSON.stringify(due[i])} does not say ${JSON.stringify(part)}`); }
    });
    limits += due.length;
    await picture(`dropped-${name}`);
  }
  if (!limits) { failures++; console.log("none of the dropped files has a time limit to show"); }
  await evaluate("var two = new DataTransfer(); two.items.add(new File(['a'], 'a.csv')); two.items.add(new File(['b'], 'b.csv')); drop.dispatchEvent(new DragEvent('drop', { dataTransfer: two, bubbles: true, cancelable: true }))");
  same("two files at one time", await evaluate("!trouble.hidden && trouble.textContent.includes('one at a time')"), true);
  await evaluate("trouble.hidden = true");
  same("asked for after the server was taken away", asked.slice(before), []);
  // What a screen reader is told: everything that can be reached has a name.
  const { nodes } = await send("Accessibility.getFullAXTree");
  const reached = nodes.filter((n) => !n.ignored && ["button", "combobox", "link", "textbox", "DisclosureTriangle"].includes(n.role?.value));
  same("nameless for a screen reader", reached.filter((n) => !n.name?.value).map((n) => n.role.value), []);
  if (reached.length < 4) { failures++; console.log(`a screen reader is told of ${reached.length} controls only`); }
  console.log(`${want.notices.length} notices of ${want.summary.finds} finds in ${groups.length} groups: the page says what the command says; ${dropped.length} dropped, ${limits} time limits`);
} catch (error) {
  failures++;
  console.log(String(error.stack ?? error));
} finally {
  browser.kill();
  await new Promise((done) => (browser.exitCode !== null || browser.signalCode ? done() : browser.once("exit", done)));
  server.close();
  other.close();
  rmSync(profile, { recursive: true, force: true, maxRetries: 5 });
}
process.exit(failures ? 1 : 0);
