// Go runtimes that are kept from request to request. A runtime serves one request at a time: what it waits for then belongs to that request, and a request that is cut
// off takes no other with it.
import "./wasm_exec.js";
import program from "./worker.wasm";

// All that an isolate holds shares 128 MB. A runtime begins with 6 MB, settles near 7, and is let go once it has more than `large`; none is begun that would bring all of
// them above `budget`.
export const most = 12; // runtimes, and so requests inside Go, at a time
const uploads = 6; // of them, those that may take in a parcel: a slow line holds its runtime for long
const large = 8 << 20;
const budget = 104 << 20;
const first = 6 << 20;

// A request that finds no runtime looks again after these pauses, in ms, if fewer than `crowd` do so already.
const pauses = [10, 20, 40, 80, 160, 320, 640];
const crowd = 200;

const worn = 2000; // requests: reading by the D1 driver leaves some 200 bytes each time
const lost = 300_000; // ms after which a request that never ended no longer counts

class Runtime {
  #go = new Go();
  #entries = {};
  #memory;
  #fail = () => {};
  served = 0;
  ended = false;

  constructor(env) {
    this.#go.exit = (code) => {
      this.ended = true;
      this.#fail(new Error(`the program ended with code ${code}`));
    };
    let ready = false;
    const workers = { ready: () => (ready = true) };
    const instance = new WebAssembly.Instance(program, { ...this.#go.importObject, workers });
    this.#memory = instance.exports.mem;
    // The library looks for its bindings under this name while the program starts, which it does at once, without waiting for anything.
    globalThis.context = { env, binding: this.#entries };
    this.#go.run(instance).catch((error) => {
      this.ended = true;
      this.#fail(error);
    });
    delete globalThis.context;
    if (!ready) throw new Error("the program did not start");
  }

  get memory() {
    return this.#memory.buffer.byteLength;
  }

  // call resolves to what an entry of the program returns. It rejects if the program ends instead, or if the host's exception went through it, after which it is in no
  // known state.
  async call(entry, argument) {
    this.served++;
    try {
      return await new Promise((resolve, reject) => {
        this.#fail = reject;
        this.#entries[entry](argument).then(resolve, reject);
      });
    } catch (error) {
      this.ended = true;
      throw error;
    }
  }
}

const idle = [];
const busy = new Map(); // runtime to when it was taken and whether for an upload
let waiting = 0;

// memory returns the bytes that all runtimes hold, and how many they are.
export function memory() {
  const all = [...idle, ...busy.keys()];
  return { runtimes: all.length, bytes: all.reduce((sum, r) => sum + r.memory, 0) };
}

// take returns a runtime that serves nobody else until it is given back, or null if none can be had for a while.
export async function take(env, upload = false) {
  for (const wait of pauses) {
    const runtime = find(env, upload);
    if (runtime) return runtime;
    if (waiting >= crowd) return null;
    waiting++;
    try {
      await scheduler.wait(wait);
    } finally {
      waiting--;
    }
  }
  return find(env, upload);
}

function find(env, upload) {
  const now = Date.now();
  let uploading = 0;
  for (const [runtime, held] of busy) {
    if (now - held.since > lost) busy.delete(runtime);
    else if (held.upload) uploading++;
  }
  if (busy.size >= most || (upload && uploading >= uploads)) return null;
  if (idle.length === 0 && memory().bytes + first > budget) return null;
  const runtime = idle.pop() ?? new Runtime(env);
  busy.set(runtime, { since: now, upload });
  return runtime;
}

// give takes a runtime back.
export function give(runtime) {
  const held = busy.delete(runtime);
  if (held && !runtime.ended && runtime.served < worn && runtime.memory <= large) idle.push(runtime);
}
