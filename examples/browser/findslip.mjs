// check, convert and read in a Web Worker, which is started at once. The types stand in findslip.d.ts.
//
//   const findslip = new Findslip();
//   const report = await findslip.check(file.name, await file.arrayBuffer());

/** @implements {import("./findslip.d.ts").Findslip} */
export class Findslip {
  #worker;
  #waiting = new Map();
  #next = 1;

  /** @param {string | URL} [folder] where worker.mjs, wasm_exec.js and findslip.wasm lie; here, if not given */
  constructor(folder = new URL(".", import.meta.url)) {
    const at = (name) => new URL(name, new URL(folder, import.meta.url)).href;
    // A worker made of a blob keeps to the Content-Security-Policy of the page; one with an address
    // of its own would keep to the headers of its file alone.
    const blob = URL.createObjectURL(new Blob([`import ${JSON.stringify(at("worker.mjs"))};postMessage({up:true});`], { type: "text/javascript" }));
    this.#worker = new Worker(blob, { type: "module" });
    /** @type {Promise<void>} */
    this.ready = new Promise((resolve, reject) => {
      this.#worker.onmessage = ({ data }) => {
        if (data.up) {
          URL.revokeObjectURL(blob);
          this.#worker.postMessage({ start: at("findslip.wasm") });
        } else if (data.ready) {
          data.error ? reject(new Error(data.error)) : resolve();
        } else {
          const { resolve, reject } = this.#waiting.get(data.id);
          this.#waiting.delete(data.id);
          data.answer.error ? reject(new Error(data.answer.error)) : resolve(data.answer);
        }
      };
      this.#worker.onerror = (event) => {
        const error = new Error(event.message || "the worker could not be started");
        reject(error);
        for (const waiting of this.#waiting.values()) waiting.reject(error);
        this.#waiting.clear();
      };
    });
    this.ready.catch(() => {}); // whoever asks for something is told
  }

  async #ask(ask, content) {
    await this.ready;
    const id = this.#next++;
    return new Promise((resolve, reject) => {
      this.#waiting.set(id, { resolve, reject });
      this.#worker.postMessage({ id, ask, content: content && new Uint8Array(content) });
    });
  }

  async check(name, content, options = {}) {
    return JSON.parse((await this.#ask({ do: "check", name, options }, content)).text).report;
  }

  async convert(name, content, to, options = {}) {
    const answer = await this.#ask({ do: "convert", name, to, options }, content);
    return { content: answer.content, ...JSON.parse(answer.text) };
  }

  async season(name, content, audience = "club", options = {}) {
    const answer = await this.#ask({ do: "season", name, for: audience, options }, content);
    const { left = [], ...figures } = JSON.parse(answer.text);
    return { page: answer.content, figures, left };
  }

  async read(kind, texts, options = {}) {
    return JSON.parse((await this.#ask({ do: "read", kind, texts: [texts].flat(), options })).text);
  }

  close() {
    this.#worker.terminate();
    for (const waiting of this.#waiting.values()) waiting.reject(new Error("closed"));
    this.#waiting.clear();
  }
}
