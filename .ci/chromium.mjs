// Headless Chromium over its debugging pipe, for the checks of pages.
import { spawn } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

export async function chromium() {
  const profile = mkdtempSync(join(tmpdir(), "browser-"));
  const flags = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--remote-debugging-pipe", `--user-data-dir=${profile}`];
  const browser = spawn(process.env.CHROMIUM ?? "chromium", flags, { stdio: ["ignore", "ignore", "ignore", "pipe", "pipe"] });
  const waiting = new Map(), heard = [];
  let next = 1, rest = "", session;
  browser.stdio[4].on("data", (chunk) => {
    const parts = (rest + chunk).split("\0");
    rest = parts.pop();
    for (const part of parts) {
      const message = JSON.parse(part);
      if (message.method) heard.push(message);
      if (message.method === "Page.javascriptDialogOpening") send("Page.handleJavaScriptDialog", { accept: true }); // "leave this page?"
      waiting.get(message.id)?.(message);
      waiting.delete(message.id);
    }
  });
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
  const until = async (expression, what, seconds = 60) => {
    for (let i = 0; i < seconds * 20; i++) {
      if (await evaluate(expression)) return;
      await new Promise((done) => setTimeout(done, 50));
    }
    throw new Error(`waited in vain for: ${what}; the page says ${JSON.stringify(await evaluate("document.body.innerText.slice(0, 500)"))}`);
  };
  const { targetId } = await send("Target.createTarget", { url: "about:blank" });
  ({ sessionId: session } = await send("Target.attachToTarget", { targetId, flatten: true }));
  await send("Page.enable");
  await send("Network.enable");
  return {
    send, evaluate, until, heard,
    open: (url) => send("Page.navigate", { url }),
    width: (width, height = 844) => send("Emulation.setDeviceMetricsOverride", { width, height, deviceScaleFactor: 1, mobile: width < 600 }),
    dark: (on) => send("Emulation.setEmulatedMedia", { features: [{ name: "prefers-color-scheme", value: on ? "dark" : "light" }] }),
    put: async (selector, files) => {
      const { root } = await send("DOM.getDocument");
      const { nodeId } = await send("DOM.querySelector", { nodeId: root.nodeId, selector });
      await send("DOM.setFileInputFiles", { nodeId, files });
    },
    drop: async (files, x = 100, y = 200) => {
      const data = { items: [], files, dragOperationsMask: 1 };
      for (const type of ["dragEnter", "dragOver", "drop"]) await send("Input.dispatchDragEvent", { type, x, y, data });
    },
    picture: async (name) => {
      const { data } = await send("Page.captureScreenshot", { format: "png", captureBeyondViewport: true });
      writeFileSync(name, Buffer.from(data, "base64"));
    },
    close: async () => {
      browser.kill();
      await new Promise((done) => (browser.exitCode !== null || browser.signalCode ? done() : browser.once("exit", done)));
      for (let i = 0; i < 20; i++) { // its helpers may still write
        try {
          rmSync(profile, { recursive: true, force: true });
          break;
        } catch {
          await new Promise((done) => setTimeout(done, 200));
        }
      }
    },
  };
}
