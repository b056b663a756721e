// Verifies requests and records without Go: written from the package comment of record.go alone, with the signatures and digests of node:crypto.
// second_test.go sends JSON, a list of { text, beside } with bytes in base64, and reads a list of what is wrong with each: "" or the name of an error.
import { createHash, createPublicKey, verify } from "node:crypto";

class Refused extends Error {}
const refuse = (name) => {
  throw new Refused(name);
};
const layout = (ok) => ok || refuse("ErrLayout");
const sha256 = (bytes) => createHash("sha256").update(bytes).digest("hex");

const purposes = ["layout and wording", "light and shade", "colour"];
const purpose = `(${purposes.join("|")})`;
const verdict = "(holds|off|unsure|not checked)";
const decision = "(undecided|approved|changes asked)";
const ways = ["detail in shadows", "detail in lights", "colours beyond its range", "shifted tones or colours", "differences finer than its steps", "any of these"];
const covers = {
  checked: "what the screen above could show: what is listed as not seen is not covered",
  unchecked: "what was on a screen that nobody checked: what it hid is not known",
};
const digits = "(0|[1-9][0-9]*)";
const string = '("(?:[^"\\\\]|\\\\["\\\\])*")';

const silent = [
  [0x0, 0x1f], [0x7f, 0x9f], [0xad, 0xad], [0x600, 0x605], [0x61c, 0x61c], [0x6dd, 0x6dd], [0x70f, 0x70f], [0x890, 0x891], [0x8e2, 0x8e2], [0x180e, 0x180e],
  [0x200b, 0x200f], [0x2028, 0x202e], [0x2060, 0x206f], [0xfdd0, 0xfdef], [0xfeff, 0xfeff], [0xfff0, 0xfffb], [0x110bd, 0x110bd], [0x110cd, 0x110cd],
  [0x13430, 0x1343f], [0x1bca0, 0x1bca3], [0x1d173, 0x1d17a], [0xe0000, 0xe00ff], [0xe01f0, 0xe0fff],
];

function say(quoted, most, least = 0) {
  let text;
  try {
    text = JSON.parse(quoted);
  } catch {
    refuse("ErrLayout");
  }
  const characters = [...text].map((c) => c.codePointAt(0));
  layout(characters.length >= least && characters.length <= most);
  layout(characters.every((c) => (c & 0xfffe) !== 0xfffe && !silent.some(([a, b]) => a <= c && c <= b)));
}

function within(text, least, most) {
  const n = BigInt(text);
  layout(n >= BigInt(least) && n <= BigInt(most));
  return Number(n);
}

function time(text) {
  const t = new Date(text);
  layout(!Number.isNaN(t.getTime()) && t.toISOString().replace(".000Z", "Z") === text && t.getTime() >= 0);
}

// Lines of a text, taken one by one.
class Lines {
  constructor(bytes) {
    let text;
    try {
      text = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes);
    } catch {
      refuse("ErrLayout");
    }
    layout(text.endsWith("\n"));
    this.lines = text.slice(0, -1).split("\n");
    this.at = 0;
  }
  // The next line has to be the pattern, whole; its groups are returned.
  take(pattern) {
    layout(this.at < this.lines.length);
    const m = new RegExp(`^${pattern}$`, "u").exec(this.lines[this.at++]);
    layout(m && m[0] === this.lines[this.at - 1]);
    return m.slice(1);
  }
  head(kind) {
    const later = new RegExp(`^plumb ${kind} ([1-9][0-9]{0,9})$`).exec(this.lines[0]);
    if (later && Number(later[1]) > 1 && Number(later[1]) < 2 ** 31) refuse("ErrVersion");
    this.take(`plumb ${kind} 1`);
  }
  signed(label) {
    return Buffer.from(label + "\n" + this.lines.slice(0, -1).join("\n") + "\n", "utf8");
  }
  end() {
    layout(this.at === this.lines.length);
  }
}

// The y-coordinates of points of small order, sign bit off.
const small = [
  "00".repeat(32),
  "01" + "00".repeat(31),
  "26e8958fc2b227b045c3f489f2ef98f0d5dfac05d3c63339b13802886d53fc05",
  "c7176a703d4dd84fba3c0b760d10670f2a2053fa2c39ccc64ec7fd7792ac037a",
  ...["ec", "ed", "ee"].map((first) => first + "ff".repeat(30) + "7f"),
];

function signs(key, message, signature) {
  const raw = Buffer.from(key, "hex");
  const y = Buffer.from(raw);
  y[31] &= 0x7f;
  if (small.includes(y.toString("hex"))) return false;
  // RFC 8410: the wrapping of an Ed25519 public key.
  const k = createPublicKey({ key: Buffer.concat([Buffer.from("302a300506032b6570032100", "hex"), raw]), format: "der", type: "spki" });
  try {
    return verify(null, message, k, Buffer.from(signature, "hex"));
  } catch {
    return false;
  }
}

const hex = (bytes) => `([0-9a-f]{${2 * bytes}})`;
const zero = (text) => /^0*$/.test(text);

function readRequest(bytes) {
  layout(bytes.length <= 64 << 10);
  const t = new Lines(bytes);
  t.head("request");
  const r = { pictures: [] };
  [r.place] = t.take(`place ${hex(16)}`);
  layout(!zero(r.place));
  const round = within(t.take(`round ${digits}`)[0], 1, 1000);
  const [, earlier] = t.take(`earlier (none|${hex(32)})`);
  layout((round === 1) === (earlier === undefined) && !(earlier && zero(earlier)));
  time(t.take("made (.*)")[0]);
  say(t.take(`title ${string}`)[0], 80);
  say(t.take(`from ${string}`)[0], 80);
  say(t.take(`note ${string}`)[0], 400);
  [, r.needs] = t.take(`needs (nothing of the screen|${purpose})`);
  const pictures = within(t.take(`pictures ${digits}`)[0], 1, 64);
  for (let i = 1; i <= pictures; i++) {
    const p = {};
    [p.quoted] = t.take(`picture ${i} of ${pictures} ${string}`);
    say(p.quoted, 80, 1);
    t.take("kind image/[a-z0-9.+-]{1,40}");
    const [w, h, size] = t.take(`size ${digits} x ${digits} pixels, ${digits} bytes`);
    p.width = within(w, 1, 1048576);
    p.height = within(h, 1, 1048576);
    within(size, 1, 1099511627776);
    [p.sent] = t.take(`sent ${hex(32)}`);
    const [, source] = t.take(`source (as sent|${hex(32)})`);
    layout(!zero(p.sent) && source !== p.sent && !(source && zero(source)));
    r.pictures.push(p);
  }
  [r.asker] = t.take(`asker ${hex(32)}`);
  const [signature] = t.take(`signature ${hex(64)}`);
  t.end();
  if (!signs(r.asker, t.signed("plumb/request/1"), signature)) refuse("ErrRequest");
  return r;
}

function readRecord(bytes) {
  layout(bytes.length <= 128 << 10);
  const t = new Lines(bytes);
  t.head("record");
  const r = { pictures: [] };
  say(t.take(`name ${string}`)[0], 80, 1);
  [r.whole] = t.take(`decision ${decision}`);
  time(t.take("told (.*) by the signer's clock")[0]);
  const [, told] = t.take("mailbox (told no time|(.*) by the mailbox's clock)");
  if (told !== undefined) time(told);
  const [, earlier] = t.take(`earlier (none|${hex(32)})`);
  r.earlier = earlier ?? "00".repeat(32);
  layout(!(earlier && zero(earlier)));
  const [, name] = t.take(`screen (unchecked|checked ${string})`);
  r.checked = name !== undefined;
  const found = {};
  if (r.checked) {
    say(name, 80);
    time(t.take("ended (.*)")[0]);
    [r.report] = t.take(`report ${hex(32)}`);
    [, r.model] = t.take(`model (none|${hex(32)})`);
    layout(!zero(r.report) && !(r.model && zero(r.model)));
    let last = -1;
    for (let n = within(t.take(`purposes ${digits}`)[0], 0, 3); n > 0; n--) {
      const [p, v] = t.take(`purpose ${purpose}: ${verdict}`);
      layout(purposes.indexOf(p) > last);
      last = purposes.indexOf(p);
      found[p] = v;
    }
  }
  const [asked] = t.take("asked (.*)");
  t.take(`approval covers ${covers[r.checked ? "checked" : "unchecked"]}`);
  const pictures = within(t.take(`pictures ${digits}`)[0], 1, 64);
  for (let i = 1; i <= pictures; i++) {
    const p = { notes: [] };
    [p.quoted] = t.take(`picture ${i} of ${pictures} ${string}`);
    [p.decision] = t.take(`decision ${decision}`);
    const [hidden] = t.take("hidden (not known|and not seen, in pixels of 1000 with a 90 % interval:)");
    p.known = hidden !== "not known";
    for (const way of p.known ? ways : []) {
      const [at, lo, hi] = t.take(`${way}: (?:not known|${digits}, ${digits} to ${digits})`);
      if (at === undefined) continue;
      layout(within(lo, 0, 1000) <= within(at, 0, 1000) && within(at, 0, 1000) <= within(hi, 0, 1000));
      if (way === "any of these") p.sum = true;
    }
    for (let n = within(t.take(`notes ${digits}`)[0], 0, 200); n > 0; n--) {
      const [x, y, w, h, text] = t.take(`note at ${digits},${digits}(?: size ${digits} x ${digits})?: ${string}`);
      say(text, 400, 1);
      p.notes.push([x, y, w, h]);
    }
    r.pictures.push(p);
  }
  const lines = within(t.take(`request of ${digits} lines`)[0], 1, 128 << 10);
  layout(t.at + lines < t.lines.length);
  r.request = Buffer.from(t.lines.slice(t.at, t.at + lines).join("\n") + "\n", "utf8");
  t.at += lines;
  [r.signer] = t.take(`signer ${hex(32)}`);
  const [signature] = t.take(`signature ${hex(64)}`);
  t.end();
  r.asked = readRequest(r.request);

  // What stands twice has to be the same.
  layout(r.pictures.length === r.asked.pictures.length);
  r.pictures.forEach((p, i) => {
    const q = r.asked.pictures[i];
    layout(p.quoted === q.quoted);
    for (const [x, y, w, h] of p.notes) {
      within(x, 0, q.width - 1);
      within(y, 0, q.height - 1);
      if (w === undefined) continue;
      within(w, 1, q.width - Number(x));
      within(h, 1, q.height - Number(y));
    }
  });
  const needs = r.asked.needs;
  layout(asked === (needs === undefined ? "nothing of the screen" : `${needs}: ${r.checked ? (found[needs] ?? "not checked") : "screen unchecked"}`));
  if (!signs(r.signer, t.signed("plumb/record/1"), signature)) refuse("ErrSignature");

  const claim = (ok) => ok || refuse("ErrClaim");
  const count = (d) => r.pictures.filter((p) => p.decision === d).length;
  for (const p of r.pictures) {
    claim(!p.known || (r.checked && p.sum));
    claim(p.decision !== "approved" || !r.checked || p.known);
  }
  if (r.whole === "approved") claim(count("approved") === r.pictures.length);
  if (r.whole === "changes asked") claim(count("undecided") === 0 && count("changes asked") > 0);
  claim(earlier || count("undecided") < r.pictures.length || r.pictures.some((p) => p.notes.length > 0));
  return r;
}

function check(r, b) {
  const differs = (given, has, name) => given !== undefined && given !== has && refuse(name);
  differs(b.place, r.asked.place, "ErrPlace");
  differs(b.asker, r.asked.asker, "ErrForeignKey");
  differs(b.request, r.request.toString("base64"), "ErrReplay");
  differs(b.signer, r.signer, "ErrForeignKey");
  differs(b.earlier, r.earlier, "ErrEarlier");
  for (const [i, p] of Object.entries(b.pictures ?? {})) differs(sha256(Buffer.from(p, "base64")), r.asked.pictures[i]?.sent, "ErrPicture");
  if (b.report !== undefined) differs(sha256(Buffer.from(b.report, "base64")), r.report, "ErrReport");
  if (b.model !== undefined) differs(sha256(Buffer.from(b.model, "base64")), r.model, "ErrModel");
}

function judge({ text, beside }) {
  const bytes = Buffer.from(text, "base64");
  try {
    if (beside === undefined) readRequest(bytes);
    else check(readRecord(bytes), beside);
  } catch (e) {
    if (e instanceof Refused) return e.message;
    throw e;
  }
  return "";
}

let given = "";
for await (const part of process.stdin.setEncoding("utf8")) given += part;
process.stdout.write(JSON.stringify(JSON.parse(given).map(judge)));
