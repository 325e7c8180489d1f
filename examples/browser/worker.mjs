// The worker: it starts the program as soon as it has its bytes, and answers one request after the other.
import "./wasm_exec.js";

const ready = new Promise((resolve) => {
  globalThis.findslipReady = resolve;
});

async function start(address) {
  const go = new Go();
  const response = await fetch(address);
  if (!response.ok) throw new Error(`the program could not be loaded (${response.status})`);
  const { instance } = await WebAssembly.instantiate(await response.arrayBuffer(), go.importObject);
  go.run(instance);
  await ready;
}

let started;
globalThis.onmessage = async ({ data }) => {
  if (data.start) {
    started = start(data.start);
    started.then(() => postMessage({ ready: true }), (error) => postMessage({ ready: true, error: String(error.message ?? error) }));
    return;
  }
  try {
    await started;
    const answer = findslipAnswer(JSON.stringify(data.ask), data.content ? [{ name: data.ask.name, bytes: data.content }] : []);
    postMessage({ id: data.id, answer }, answer.content ? [answer.content.buffer] : []);
  } catch (error) {
    postMessage({ id: data.id, answer: { error: String(error.message ?? error) } });
  }
};
