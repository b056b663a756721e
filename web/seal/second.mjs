// Opens and seals letters (suite 1) and chunks without Go: the ciphers are Web Crypto's, and what this package adds to them is written here once more.
// second_test.go sends JSON and reads JSON; bytes are in base64.
import { createHmac, createPrivateKey, createPublicKey, diffieHellman, generateKeyPairSync, webcrypto } from "node:crypto";

const { subtle } = webcrypto;
const bytes = (text) => Buffer.from(text, "base64");
const text = (b) => Buffer.from(b).toString("base64");
const ascii = (s) => Buffer.from(s, "ascii");
const number = (n, size) => {
  const b = Buffer.alloc(8);
  b.writeBigUInt64BE(BigInt(n));
  return b.subarray(8 - size);
};

async function gcm(key, iv, additionalData) {
  const k = await subtle.importKey("raw", key, "AES-GCM", false, ["encrypt", "decrypt"]);
  const how = { name: "AES-GCM", iv, additionalData, tagLength: 128 };
  return { seal: (plain) => subtle.encrypt(how, k, plain), open: (sealed) => subtle.decrypt(how, k, sealed) };
}

// X25519 keys as raw bytes, in the wrapping of RFC 8410.
const privateKey = (raw) => createPrivateKey({ key: Buffer.concat([Buffer.from("302e020100300506032b656e04220420", "hex"), raw]), format: "der", type: "pkcs8" });
const publicKey = (raw) => createPublicKey({ key: Buffer.concat([Buffer.from("302a300506032b656e032100", "hex"), raw]), format: "der", type: "spki" });
const rawPublic = (key) => createPublicKey(key).export({ format: "der", type: "spki" }).subarray(-32);

// RFC 9180, base mode, DHKEM(X25519, HKDF-SHA256), HKDF-SHA256, AES-256-GCM.
const mac = (key, ...parts) => createHmac("sha256", key).update(Buffer.concat(parts)).digest();
const extract = (suite, salt, label, ikm) => mac(salt.length ? salt : Buffer.alloc(32), ascii("HPKE-v1"), suite, ascii(label), ikm);
const expand = (suite, prk, label, info, size) => mac(prk, number(size, 2), ascii("HPKE-v1"), suite, ascii(label), info, Buffer.from([1])).subarray(0, size);
const none = Buffer.alloc(0);

function context(shared, enc, reader, info) {
  const kem = Buffer.concat([ascii("KEM"), number(0x20, 2)]);
  const secret = expand(kem, extract(kem, none, "eae_prk", shared), "shared_secret", Buffer.concat([enc, reader]), 32);
  const suite = Buffer.concat([ascii("HPKE"), number(0x20, 2), number(1, 2), number(2, 2)]);
  const schedule = Buffer.concat([Buffer.from([0]), extract(suite, none, "psk_id_hash", none), extract(suite, none, "info_hash", info)]);
  const prk = extract(suite, secret, "secret", none);
  return gcm(expand(suite, prk, "key", schedule, 32), expand(suite, prk, "base_nonce", schedule, 12), none);
}

const info = (l) => Buffer.concat([ascii("plumb/letter/1"), Buffer.from([1]), number(l.kind.length, 4), ascii(l.kind), number(bytes(l.context).length, 4), bytes(l.context)]);

async function openLetter(l) {
  const letter = bytes(l.letter);
  const mine = privateKey(bytes(l.private).subarray(1));
  const enc = letter.subarray(2, 34);
  const shared = diffieHellman({ privateKey: mine, publicKey: publicKey(enc) });
  const plain = Buffer.from(await (await context(shared, enc, rawPublic(mine), info(l))).open(letter.subarray(34)));
  const size = plain.readUInt32BE(0);
  if (letter[0] !== 1 || letter[1] !== 1 || plain.subarray(4 + size).some((b) => b !== 0)) throw new Error("layout");
  return { ...l, body: text(plain.subarray(4, 4 + size)) };
}

async function sealLetter(l) {
  const reader = bytes(l.public).subarray(1);
  const once = generateKeyPairSync("x25519").privateKey;
  const enc = rawPublic(once);
  const shared = diffieHellman({ privateKey: once, publicKey: publicKey(reader) });
  const body = bytes(l.body);
  const plain = Buffer.alloc(l.size - 2 - 32 - 16);
  plain.writeUInt32BE(body.length);
  body.copy(plain, 4);
  const sealed = await (await context(shared, enc, reader, info(l))).seal(plain);
  return { ...l, letter: text(Buffer.concat([Buffer.from([1, 1]), enc, Buffer.from(sealed)])) };
}

function chunk(c) {
  const nonce = Buffer.concat([Buffer.alloc(3), number(c.position, 8), Buffer.from([c.last ? 1 : 0])]);
  return gcm(bytes(c.key), nonce, Buffer.concat([ascii("plumb/parcel/1"), bytes(c.id)]));
}

async function openChunk(c) {
  const sealed = bytes(c.sealed);
  if (sealed[0] !== 1 || sealed[1] !== (c.last ? 1 : 0) || sealed.readUInt32BE(2) !== c.position) throw new Error("layout");
  return { ...c, plain: text(await (await chunk(c)).open(sealed.subarray(6))) };
}

async function sealChunk(c) {
  const sealed = await (await chunk(c)).seal(bytes(c.plain));
  return { ...c, sealed: text(Buffer.concat([Buffer.from([1, c.last ? 1 : 0]), number(c.position, 4), Buffer.from(sealed)])) };
}

const each = (list, f) => Promise.all(list.map(f));
let given = "";
for await (const part of process.stdin.setEncoding("utf8")) given += part;
const ask = JSON.parse(given);
process.stdout.write(
  JSON.stringify({
    openLetters: await each(ask.openLetters, openLetter),
    sealLetters: await each(ask.sealLetters, sealLetter),
    openChunks: await each(ask.openChunks, openChunk),
    sealChunks: await each(ask.sealChunks, sealChunk),
  }),
);
