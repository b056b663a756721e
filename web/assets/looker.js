// Runs the program that looks at pictures, in a worker: what it has of the browser, and what it says to the page.
//
// The page sends { runtime, program } once, the addresses of wasm_exec.js and of the program, and then { n, task, picture } for one task at a time. It is told
// { ready }, { n, share } on the way, { n, found, made, times } or { n, error } at the end, and { fell } if the program stopped.
"use strict";

const lines = []; // the last that the program wrote
const log = console.log;
console.log = (...words) => {
	lines.push(words.join(" "));
	if (lines.length > 40) lines.shift();
	log.apply(console, words);
};

// Ground is what lies behind a picture that lets it through: the grey that pictures hang on.
const ground = "rgb(119 119 119)";

let memory = null; // of the program
let picture = null; // the bitmap that is open
let bands = {}; // by colour space: a canvas as wide as the picture, to read from
let paper = null; // the picture that is being made

// hand is what the program has of the browser. All of it that takes long answers by a promise. Addresses are in the program's memory.
globalThis.hand = {
	// open decodes a picture as a page shows it, orientation and colour profile applied.
	async open(blob) {
		hand.close();
		picture = await createImageBitmap(blob);
		return picture;
	},
	close() {
		picture?.close();
		picture = paper = null;
		bands = {};
	},
	// band puts rows of the picture into memory, 4 bytes a pixel; false where the browser has no canvas of that colour space.
	band(y, rows, space, at) {
		let c = bands[space];
		if (!c || c.height < rows) {
			c = bands[space] = new OffscreenCanvas(picture.width, rows);
			c.pen = c.getContext("2d", { willReadFrequently: true, colorSpace: space });
			if (!c.pen || (space !== "srgb" && c.pen.getContextAttributes?.().colorSpace !== space)) return false;
			c.pen.imageSmoothingEnabled = false;
			c.pen.fillStyle = ground;
		}
		c.pen.fillRect(0, 0, c.width, rows);
		c.pen.drawImage(picture, 0, y, c.width, rows, 0, 0, c.width, rows);
		const got = c.pen.getImageData(0, 0, c.width, rows, { colorSpace: space }).data;
		new Uint8Array(memory.buffer, at, got.length).set(got);
		return true;
	},
	// lay begins a picture of the size of the one that is open, put sets rows of it, and take makes a file of it.
	lay() {
		paper = new OffscreenCanvas(picture.width, picture.height);
		paper.pen = paper.getContext("2d", { alpha: false });
		return !!paper.pen;
	},
	put(y, rows, at) {
		const bytes = new Uint8ClampedArray(memory.buffer, at, 4 * paper.width * rows);
		paper.pen.putImageData(new ImageData(bytes, paper.width, rows), 0, y);
	},
	take: (kind) => paper.convertToBlob({ type: kind }),
	// bytes puts a part of a file into memory.
	async bytes(blob, from, to, at) {
		const got = new Uint8Array(await blob.slice(from, to).arrayBuffer());
		new Uint8Array(memory.buffer, at, got.length).set(got);
		return got.length;
	},
	file: (at, size, kind) => new Blob([new Uint8Array(memory.buffer, at, size)], { type: kind }),
	// digest is the SHA-256 of a file, or nothing where the browser gives none: a page that is not secure.
	async digest(blob) {
		if (!globalThis.crypto?.subtle) return null;
		const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", await blob.arrayBuffer()));
		return Array.from(sum, (b) => b.toString(16).padStart(2, "0")).join("");
	},
	now: () => performance.now(),
	say: (message) => postMessage(message),
	memory: () => memory.buffer.byteLength,
};

async function boot(runtime, program) {
	importScripts(runtime);
	const go = new Go();
	const answer = await fetch(program, { credentials: "same-origin" });
	if (!answer.ok) throw new Error(`${answer.status} instead of the program`);
	const loaded = WebAssembly.instantiateStreaming
		? await WebAssembly.instantiateStreaming(answer, go.importObject)
		: await WebAssembly.instantiate(await answer.arrayBuffer(), go.importObject);
	memory = loaded.instance.exports.mem;
	const run = go.run(loaded.instance); // sets globalThis.look
	postMessage({ ready: true });
	await run;
	throw new Error("it ended");
}

const fell = (e) => postMessage({ fell: [String((e && e.message) || e), ...lines].join("\n") });

addEventListener("error", (e) => fell(e.error || e.message));
addEventListener("unhandledrejection", (e) => fell(e.reason));
onmessage = (e) => {
	const m = e.data;
	if (m.program) boot(m.runtime, m.program).catch(fell);
	else look(m.n, m.task, m.picture);
};
