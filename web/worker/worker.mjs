// The entry of the worker. The host serves pages and assets by itself; what arrives here is for the mailbox.
import { give, take } from "./pool.mjs";

// plain is an answer that no program had a part in.
function plain(status, text, headers = {}) {
  return new Response(text + "\n", {
    status,
    headers: {
      "Cache-Control": "no-store",
      "Content-Security-Policy": "default-src 'none'",
      "Content-Type": "text/plain; charset=utf-8",
      "X-Content-Type-Options": "nosniff",
      ...headers,
    },
  });
}

// across is a request as it goes into the program: its headers are one, which holds names and values line by line.
const across = ({ method, url, body, headers }) => ({
  method,
  url,
  body,
  headers: { entries: () => [["Lines", [...headers].flat().join("\n")]] },
});

// back gives an answer of the program its headers, which it brings in one.
function back(answer) {
  const lines = JSON.parse(answer.headers.get("Lines"));
  answer.headers.delete("Lines");
  for (const [name, values] of Object.entries(lines)) {
    for (const value of values) answer.headers.append(name, value);
  }
  return answer;
}

export default {
  async fetch(request, env, ctx) {
    try {
      const { pathname } = new URL(request.url);
      if (/%(?![0-9a-f]{2})/i.test(pathname)) return plain(400, "Bad Request"); // the library gives up on it
      const runtime = await take(env, request.method === "PUT" && pathname.includes("/parcels/"));
      if (!runtime) return plain(503, "Service Unavailable", { "Retry-After": "1" });
      const answer = runtime.call("handleRequest", across(request)).finally(() => give(runtime));
      // A client that goes away ends its request; the runtime is to come to the end of it all the same.
      ctx.waitUntil(answer.catch(() => {}));
      return back(await answer);
    } catch (error) {
      console.error(`worker: a request failed: ${error.name}`); // its message may hold what was asked
      return plain(500, "Internal Server Error");
    }
  },

  async scheduled(controller, env) {
    const runtime = await take(env);
    if (!runtime) throw new Error("no runtime was free"); // the next time does what this one did not
    try {
      await runtime.call("runScheduler", controller);
    } finally {
      give(runtime);
    }
  },
};
