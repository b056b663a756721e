// Go runtimes that are kept from request to request. A runtime serves one request at a time: what it waits for then belongs to that request, and a request that is cut
// off takes no other with it.
import "./wasm_exec.js";
import program from "./worker.wasm";

// All that an isolate holds shares 128 MB. A runtime begins with 6 MB, settles near 7, and is let go once it has more than `large`; none is begun that would bring all of
// them above `budget`.
export const most = 12; // runtimes, and so requests inside Go, at a time
const uploads = 6; // of them, those that may take in a parcel: a slow line holds its runtime for long
const uploadsEach = 4; // of these, those of one client
const large = 8 << 20;
const budget = 104 << 20;
const first = 6 << 20;

// A request that finds no runtime looks again after these pauses, in ms, if fewer than `crowd` do so already.
const pauses = [10, 20, 40, 80, 160, 320, 640];
const crowd = 200;

// Letters arrive before they have a runtime, in memory of their own: `letters` at a time, `lettersEach` of one client's. One may be on its way for `prompt` ms, and longer
// by what its told length takes at `pace` bytes a ms (120 kbit/s). One that is larger than `largest` bytes is the program's to refuse.
const letters = 32;
const lettersEach = 8;
const largest = 256 << 10;
const prompt = 5000;
const pace = 15;

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
const busy = new Map(); // runtime to when it was taken, whether for an upload, and of which client
const arriving = []; // the client of each letter on its way
let waiting = 0;

// memory returns the bytes that all runtimes hold, and how many they are.
export function memory() {
  const all = [...idle, ...busy.keys()];
  return { runtimes: all.length, bytes: all.reduce((sum, r) => sum + r.memory, 0) };
}

// A turn is one request's: it has a runtime that serves nobody else, but not while a letter is on its way.
class Turn {
  #env;

  constructor(env, runtime) {
    this.#env = env;
    this.runtime = runtime;
  }

  // call resolves to what an entry of the program returns, or to a refusal in the same form. It rejects as the runtime's does.
  async call(entry, argument) {
    if (argument.body instanceof ReadableStream) {
      const about = told(argument);
      const held = busy.get(this.runtime);
      if (held.upload) {
        if (of(about.client, [...busy.values()].map((other) => other.client)) >= uploadsEach) return refusal(503, "Service Unavailable");
        held.client = about.client;
      } else if (isLetter(argument) && !(about.length > largest)) {
        give(this);
        const body = await letter(argument.body, about);
        if (body instanceof Response) return body;
        this.runtime = await soon(() => find(this.#env, false));
        if (!this.runtime) return refusal(503, "Service Unavailable");
        argument = { ...argument, body };
      }
    }
    return this.runtime.call(entry, argument);
  }
}

// take returns a turn until it is given back, or null if none can be had for a while.
export async function take(env, upload = false) {
  const runtime = await soon(() => find(env, upload));
  return runtime && new Turn(env, runtime);
}

// soon returns what get returns once that is not null, or null after a while.
async function soon(get) {
  for (const wait of pauses) {
    const got = get();
    if (got) return got;
    if (waiting >= crowd) return null;
    waiting++;
    try {
      await scheduler.wait(wait);
    } finally {
      waiting--;
    }
  }
  return get();
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

// give takes a turn's runtime back.
export function give(turn) {
  const { runtime } = turn;
  turn.runtime = null;
  const held = busy.delete(runtime);
  if (held && !runtime.ended && runtime.served < worn && runtime.memory <= large) idle.push(runtime);
}

// letter returns the body of a letter that has arrived, as a stream, or a refusal.
async function letter(body, { client, length }) {
  const free = () => arriving.length < letters && of(client, arriving) < lettersEach;
  if (!(await soon(() => free() && arriving.push(client)))) return refusal(503, "Service Unavailable");
  try {
    const bytes = await arrive(body, length);
    return bytes ? new Response(bytes).body : refusal(408, "Request Timeout");
  } catch {
    return refusal(400, "Bad Request"); // the client went away
  } finally {
    arriving.splice(arriving.indexOf(client), 1);
  }
}

// arrive reads a stream of length bytes, or of at most one more than a letter may have if length is NaN. It resolves to null if that takes too long.
async function arrive(body, length) {
  const bytes = new Uint8Array(length >= 0 ? length : largest + 1);
  const reader = body.getReader();
  let timer;
  const late = new Promise((resolve) => (timer = setTimeout(resolve, prompt + (length || 0) / pace, null)));
  try {
    let size = 0;
    while (size < bytes.length) {
      const part = await Promise.race([reader.read(), late]);
      if (!part) return null;
      if (part.done) break;
      const fits = part.value.subarray(0, bytes.length - size);
      bytes.set(fits, size);
      size += fits.length;
    }
    return bytes.subarray(0, size);
  } finally {
    clearTimeout(timer);
    reader.cancel().catch(() => {});
  }
}

const isLetter = ({ method, url }) => method === "PUT" && new URL(url).pathname.includes("/letters/");

// told returns what the headers of a request say of its client and the length of its body, NaN if nothing.
function told({ headers }) {
  const [[, lines]] = headers.entries();
  const fields = lines.split("\n");
  const value = (name) => fields.find((_, i) => i % 2 === 1 && fields[i - 1].toLowerCase() === name);
  return { client: network(value("cf-connecting-ip") ?? ""), length: parseInt(value("content-length"), 10) };
}

// network is what one client is taken to be: an IPv4 address, or the first 64 bits of an IPv6 address.
function network(client) {
  if (!client.includes(":")) return client;
  const [front] = client.toLowerCase().split("::");
  return [...front.split(":"), 0, 0, 0, 0].slice(0, 4).join(":");
}

const of = (client, all) => all.filter((other) => other === client).length;

// refusal is an answer as the program gives them.
function refusal(status, text) {
  const lines = { "Cache-Control": ["no-store"], "Content-Security-Policy": ["default-src 'none'"], "X-Content-Type-Options": ["nosniff"] };
  if (status === 503) lines["Retry-After"] = ["1"];
  return new Response(text + "\n", { status, headers: { Lines: JSON.stringify(lines) } });
}
