// The worker with a few questions beside it that tests ask, below /api/lab/. Requests reach the worker as they came. The header Lab-Now is the time as the worker is to
// see it, in milliseconds.
import worker from "./worker.mjs";
import { give, memory, most, take } from "./pool.mjs";

const RealDate = globalThis.Date;
let stands; // ms at which the clock stands still, undefined while it goes

class SetDate extends RealDate {
  constructor(...args) {
    super(...(args.length === 0 ? [SetDate.now()] : args));
  }
  static now() {
    return stands ?? RealDate.now();
  }
}
globalThis.Date = SetDate;

// Go copies bytes from and to the host by this method alone.
let copied = 0;
const set = Uint8Array.prototype.set;
Uint8Array.prototype.set = function (from, ...rest) {
  copied += from.length;
  return set.call(this, from, ...rest);
};

// The memories of all programs that have not been collected, whether the pool still has them or not.
const memories = [];
const { Instance } = WebAssembly;
WebAssembly.Instance = class extends Instance {
  constructor(...args) {
    super(...args);
    memories.push(new WeakRef(this.exports.mem));
  }
};

function held() {
  let sum = 0;
  memories.forEach((ref, i) => {
    const memory = ref.deref();
    if (memory) sum += memory.buffer.byteLength;
    else delete memories[i];
  });
  return sum;
}

let open = 0; // requests to the worker that are to end (header Lab-Ends) and have not
let peak = 0;
let watched = true; // whether peak is kept, which takes time
let variables = {}; // those of the configuration that a test has set

function bindings(env) {
  const { FAULT, COLUMN, ...others } = variables;
  if (FAULT) others.DB = others.PARCELS = failing(FAULT);
  if (COLUMN) others.DB = odd(JSON.parse(COLUMN));
  return { ...env, ...others };
}

// odd is a database that answers each statement of a batch with one row of one column.
const odd = (value) => ({
  prepare: () => ({ bind: () => undefined }),
  batch: async (statements) => statements.map(() => ({ results: [{ value }] })),
});

// failing is a database or a bucket of which everything fails.
function failing(message) {
  const fail = () => Promise.reject(new Error(message));
  return { prepare: () => ({ bind: () => ({ raw: fail }) }), batch: fail, put: fail, get: fail, delete: fail };
}

function measured(answer) {
  if (watched) peak = Math.max(peak, held());
  return answer;
}

// What the host itself costs: a refusal made without Go.
const plain = () => new Response("Bad Request\n", { status: 400, headers: { "Cache-Control": "no-store", "Content-Type": "text/plain; charset=utf-8" } });

const questions = {
  memory() {
    return Response.json({ ...memory(), peak: (measured(), peak), held: held(), most, copied, open });
  },
  plain,
  // What Go is asked for where it looks at a box, but by JavaScript alone.
  async row(url, env) {
    const name = Uint8Array.from(url.searchParams.get("name").match(/../g), (h) => parseInt(h, 16));
    const find = env.DB.prepare("SELECT owner, state, expires, letters, bytes FROM box WHERE name = ?1").bind(name);
    const [[, state, expires, letters, bytes]] = await find.raw();
    const day = new Date(expires * 86400_000).toISOString().slice(0, 10);
    return Response.json({ expires: day, letters, bytes, closed: state === 1 }, { headers: { "Cache-Control": "no-store" } });
  },
  // An empty store, with variables of the configuration; no runtime remembers another.
  async fresh(url, env) {
    await env.DB.batch(
      ["box", "letter", "chunk", "waste"].map((t) => env.DB.prepare(`DELETE FROM ${t}`)).concat(env.DB.prepare("UPDATE store SET bytes = 0")),
    );
    const { watched: watch = "yes", ...others } = Object.fromEntries(url.searchParams);
    variables = others;
    watched = watch === "yes";
    await drop(env);
    return new Response(null, { status: 204 });
  },
  async sweep(_, env, ctx) {
    const count = async () => (await env.DB.prepare("SELECT COUNT(*) AS n FROM box").first()).n;
    const before = await count();
    await worker.scheduled({ cron: "23 3 * * *", scheduledTime: Date.now() }, bindings(env), ctx);
    return Response.json({ removed: before - (await count()) });
  },
  // An answer that cannot be made ends the program.
  async end(url, env, ctx) {
    const { append } = Headers.prototype;
    Headers.prototype.append = () => {
      throw new Error("thrown on purpose");
    };
    try {
      return await worker.fetch(new Request(url.origin + "/api/v1/nothing"), bindings(env), ctx);
    } finally {
      Headers.prototype.append = append;
    }
  },
  // Five bytes as a chunk of which another length is told. HTTP itself would stop that.
  five(url, env, ctx) {
    const request = { method: "PUT", url: url.origin + url.searchParams.get("path"), headers: [["content-length", url.searchParams.get("told")]] };
    return worker.fetch({ ...request, body: new Response("abcde").body }, bindings(env), ctx);
  },
  // Few clients let such an address be sent.
  mangled(url, env, ctx) {
    return worker.fetch(new Request(url.origin + "/api/v1/%zz"), bindings(env), ctx);
  },
  // A value that throws when it is looked at goes right through the program.
  async pierce(url, env, ctx) {
    const body = {
      get getReader() {
        throw new Error("thrown on purpose");
      },
    };
    const box = url.origin + "/api/v1/AAAAAAAAAAAAAAAAAAAAAA";
    const day = new Date(Date.now() + 2 * 86400_000).toISOString().slice(0, 10);
    const open = { method: "PUT", headers: { "Plumb-Owner": "B".repeat(42) + "A", "Plumb-Expires": day } };
    await worker.fetch(new Request(box, open), bindings(env), ctx); // only of a letter to a box is the body looked at
    return worker.fetch({ method: "PUT", url: box + "/letters/AAAAAAAAAAAAAAAAAAAAAA", headers: [], body }, bindings(env), ctx);
  },
  // All runtimes are held until "release".
  async hold(_, env) {
    for (let r; kept.length < most && (r = await take(bindings(env))); ) kept.push(r);
    return Response.json(kept.length);
  },
  release() {
    kept.splice(0).forEach(give);
    return new Response(null, { status: 204 });
  },
};

const kept = [];

async function drop(env) {
  const all = [];
  for (let n = memory().runtimes; n > 0; n--) all.push(await take(bindings(env)));
  for (const r of all) {
    r.runtime.ended = true;
    give(r);
  }
  memories.length = 0; // what was dropped here is not the pool's doing
  peak = 0;
  copied = 0;
}

export default {
  async fetch(request, env, ctx) {
    const url = new URL(request.url);
    const now = request.headers.get("Lab-Now") ?? url.searchParams.get("now");
    stands = now === null ? undefined : Number(now);
    const question = questions[url.pathname.replace("/api/lab/", "")];
    if (question) return question(url, env, ctx);
    const ends = request.headers.has("Lab-Ends");
    if (ends) open++;
    const answer = worker.fetch(request, bindings(env), ctx).finally(() => ends && open--);
    measured();
    return answer.then(measured);
  },
  scheduled: worker.scheduled,
};
