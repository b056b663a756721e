"use strict";

// The same screens written by hand, for comparison: (u32, w, h) paints all of a frame of w by h pixels.
// They may use what typed arrays are fast at: fill for runs, copyWithin for rows.
const peers = (() => {
	const grey = v => (0xff000000 | v * 0x10101) >>> 0;
	const row = (u, w, to, from) => u.copyWithin(to * w, from * w, from * w + w);
	const rest = (u, w, h) => { for (let y = 1; y < h; y++) row(u, w, y, 0); };
	const between = (from, to, k, n) => n > 0 ? Math.floor((2 * (from * (n - k) + to * k) + n) / (2 * n)) : from;
	// Rows of one grey each; a row of a grey already there is copied.
	const down = (u, w, h, at) => {
		const latest = new Int32Array(256).fill(-1);
		for (let y = 0; y < h; y++) {
			const v = at(y);
			if (latest[v] < 0) u.fill(grey(v), y * w, y * w + w); else row(u, w, y, latest[v]);
			latest[v] = y;
		}
	};
	const across = (u, w, h, at) => {
		for (let x = 0; x < w; x++) u[x] = grey(at(x));
		rest(u, w, h);
	};
	const steps = (from, to, n, length) => i => between(from, to, Math.floor(((i + 1) * n - 1) / length), n - 1);
	// A square of equal rows on a ground.
	const block = (u, w, h, ground, top, bottom, paint) => {
		for (let y = 0, first = [-1, -1]; y < h; y++) {
			const k = y >= top && y < bottom ? 1 : 0;
			if (first[k] >= 0) { row(u, w, y, first[k]); continue; }
			first[k] = y;
			u.fill(grey(ground), y * w, y * w + w);
			if (k) paint(y * w);
		}
	};
	const side = (w, h) => {
		const s = Math.floor(Math.min(w / 2, h, Math.sqrt(w * h / 10)));
		return s < 48 ? 0 : s - s % 24;
	};
	const lit = (i, n, of) => Math.floor((i % of + 1) * n / of) > Math.floor(i % of * n / of);
	const field = (u, w, h, ground, left, top, right, bottom, peak) => {
		u.fill(grey(ground));
		const d = Math.min(right - left, bottom - top), full = d * d;
		peak = Math.min(peak, Math.floor(d / 4));
		const reach = [];
		for (let k = 1; k <= peak; k++) reach.push(full - Math.ceil(full * Math.sqrt((2 * k - 1) / (2 * peak))));
		for (let y = top; y < bottom; y++) {
			const v = 2 * y + 1 - top - bottom;
			for (let k = 0; k < peak; k++) {
				const n = reach[k] - v * v;
				if (n < 0) break;
				const m = Math.floor(Math.sqrt(n)), mid = left + right - 1;
				u.fill(grey(ground + k + 1), y * w + Math.ceil((mid - m) / 2), y * w + Math.floor((mid + m) / 2) + 1);
			}
		}
	};
	return {
		"solid": (u, w, h) => { u.fill(grey(119)); },
		"steps": (u, w, h) => across(u, w, h, steps(0, 255, 11, w)),
		"steps down": (u, w, h) => down(u, w, h, steps(0, 32, 33, h)),
		"cells": (u, w, h) => {
			const s = Math.max(1, Math.floor(Math.min(w, h) * 22 / 100));
			const l = Math.floor(w / 3), t = Math.floor(h / 3), r = Math.floor(2 * w / 3), b = Math.floor(2 * h / 3);
			const x = l + Math.floor((r - l - s) / 2), y = t + Math.floor((b - t - s) / 2);
			block(u, w, h, 0, y, y + s, o => u.fill(grey(6), o + x, o + x + s));
		},
		"gradient": (u, w, h) => across(u, w, h, x => between(0, 255, x, w - 1)),
		"gradient down": (u, w, h) => down(u, w, h, y => between(0, 255, y, h - 1)),
		"field 3x3": (u, w, h) =>
			field(u, w, h, 128, Math.floor(w / 3), Math.floor(h / 3), Math.floor(2 * w / 3), Math.floor(2 * h / 3), 20),
		"field 1x1": (u, w, h) => field(u, w, h, 128, 0, 0, w, h, 20),
		"mix rows": (u, w, h) => down(u, w, h, y => y % 2 ? 255 : 0),
		"mix columns": (u, w, h) => across(u, w, h, x => lit(x, 3, 8) ? 255 : 0),
		"match rows": (u, w, h) => {
			const s = side(w, h), x = (w >> 1) - s, top = (h - s) >> 1, first = [-1, -1, -1];
			for (let y = 0; y < h; y++) {
				const k = y < top || y >= top + s ? 0 : (y - top) % 2 ? 2 : 1;
				if (first[k] >= 0) { row(u, w, y, first[k]); continue; }
				first[k] = y;
				const o = y * w;
				u.fill(grey(119), o, o + w);
				if (!k) continue;
				u.fill(grey(k === 2 ? 255 : 0), o + x, o + x + s);
				u.fill(grey(188), o + x + s, o + x + 2 * s);
			}
		},
		"match columns": (u, w, h) => {
			const s = side(w, h), x = (w >> 1) - s, top = (h - s) >> 1;
			block(u, w, h, 119, top, top + s, o => {
				for (let i = 0; i < s; i++) u[o + x + i] = grey(lit(i, 3, 8) ? 255 : 0);
				u.fill(grey(188), o + x + s, o + x + 2 * s);
			});
		},
		"pair": (u, w, h) => {
			const s = side(w, h), x = (w >> 1) - s, top = (h - s) >> 1;
			block(u, w, h, 119, top, top + s, o => {
				u.fill(grey(90), o + x, o + x + s);
				u.fill(grey(160), o + x + s, o + x + 2 * s);
			});
		},
		"row copy": (u, w, h) => rest(u, w, h),
	};
})();

const median = a => a.sort((x, y) => x - y)[a.length >> 1];
const timed = f => { const t = performance.now(); f(); return performance.now() - t; };
const breathe = () => new Promise(resolve => setTimeout(resolve));
const hex = async bytes => [...new Uint8Array(await crypto.subtle.digest("SHA-256", bytes))].map(b => b.toString(16).padStart(2, "0")).join("");

let program; // the bytes of page.wasm
let fresh = 0;

// start runs the program anew. A section of its own (a custom one, which means nothing) makes its bytes unlike any before, so that the browser
// has no code of it that it has optimised already.
async function start() {
	program ??= new Uint8Array(await (await fetch("page.wasm")).arrayBuffer());
	const name = String(fresh++).padStart(4, "0"), section = [0, 5, 4, ...new TextEncoder().encode(name)];
	const bytes = new Uint8Array(program.length + section.length);
	bytes.set(program);
	bytes.set(section, program.length);
	const go = new Go();
	const { instance } = await WebAssembly.instantiate(bytes, go.importObject);
	globalThis.goMem = instance.exports.mem;
	go.run(instance);
	return instance.exports;
}

// lay gives the program a frame and looks at it in the memory of the program, without a copy.
function lay(exports, w, h) {
	const at = exports.lay(w, h) >>> 0;
	return new Uint8ClampedArray(globalThis.goMem.buffer, at, 4 * w * h);
}

function same(a, b) {
	const n = a.length >> 2, x = new Uint32Array(a.buffer, a.byteOffset, n), y = new Uint32Array(b.buffer, b.byteOffset, n);
	for (let i = 0; i < n; i++) if (x[i] !== y[i]) return false;
	return true;
}

// measure times the named screens, whose order is the program's, at w by h. "row copy" comes last and is the yardstick.
async function measure(names, w, h, runs) {
	const canvas = document.querySelector("canvas");
	canvas.width = w;
	canvas.height = h;
	canvas.style.width = `${w / devicePixelRatio}px`;
	canvas.style.height = `${h / devicePixelRatio}px`;
	const context = canvas.getContext("2d", { alpha: false });
	const result = { isolated: crossOriginIsolated, rows: [] };

	for (const [i, name] of names.entries()) {
		const e = await start();
		lay(e, w, h).fill(0); // what memory costs when it is touched for the first time is another matter, timed below
		result.rows.push({ name, first: timed(() => name === "row copy" ? e.rowcopy() : e.paint(i)) });
		await breathe();
	}
	const untouched = await start();
	lay(untouched, w, h);
	result.touch = timed(() => untouched.rowcopy());

	const e = await start();
	// Odd sizes first: a peer that is right only at one size is no peer.
	for (const [ow, oh] of [[1, 1], [97, 131], [641, 359]]) {
		const frame = lay(e, ow, oh), other = new Uint8ClampedArray(4 * ow * oh);
		for (const [i, name] of names.entries()) {
			if (name === "row copy") continue;
			e.paint(i);
			peers[name](new Uint32Array(other.buffer), ow, oh);
			if (!same(frame, other)) throw new Error(`${name} at ${ow}x${oh}: the program and plain JavaScript differ`);
		}
	}
	const frame = lay(e, w, h);
	const other = new Uint8ClampedArray(4 * w * h), u32 = new Uint32Array(other.buffer);
	const image = new ImageData(frame, w, h), otherImage = new ImageData(other, w, h);
	for (const [i, row] of result.rows.entries()) {
		const copy = row.name === "row copy";
		const wasm = copy ? () => e.rowcopy() : () => e.paint(i);
		const js = () => peers[row.name](u32, w, h);
		if (!copy) {
			wasm();
			js();
			row.same = same(frame, other);
			row.digest = await hex(frame);
			context.putImageData(image, 0, 0);
			row.shown = same(frame, context.getImageData(0, 0, w, h).data);
		}
		for (let n = 0; n < 8; n++) { wasm(); js(); }
		await breathe();
		const times = { wasm: [], wasmCopy: [], js: [], jsCopy: [], put: [], jsPut: [] };
		for (let n = 0; n < runs; n++) {
			// By turns, so that a busy machine slows both, and each first every other time, when the caches are cold.
			const pairs = [
				[() => times.wasm.push(timed(wasm)), () => times.wasmCopy.push(timed(() => e.rowcopy()))],
				[() => times.js.push(timed(js)), () => times.jsCopy.push(timed(() => peers["row copy"](u32, w, h)))],
			];
			for (const [f, g] of pairs) if (n % 2) { f(); g(); } else { g(); f(); }
			times.put.push(timed(() => { wasm(); context.putImageData(image, 0, 0); }));
			times.jsPut.push(timed(() => { js(); context.putImageData(otherImage, 0, 0); }));
			await breathe();
		}
		for (const k in times) row[k] = median(times[k]);
	}
	if (frame.length === 0) throw new Error("the memory of the program grew while it was looked at");

	// How often a new frame is asked for while each of them is painted anew.
	const gaps = [];
	let last = 0;
	await new Promise(resolve => requestAnimationFrame(function step(now) {
		if (last) gaps.push(now - last);
		last = now;
		e.paint(gaps.length % 2 ? names.indexOf("gradient") : names.indexOf("match rows"));
		context.putImageData(image, 0, 0);
		if (gaps.length < 90) requestAnimationFrame(step); else resolve();
	}));
	result.cadence = median(gaps);

	// Adaptive updates: from an answer to the next stimulus, and apart from them what plans a round. The first sitting of a program is not counted: a browser optimises code as it runs.
	const steps = {}, PLANNING = 1000;
	for (let seed = 0; seed < 4; seed++) {
		e.sit(seed);
		for (;;) {
			const begun = performance.now(), check = e.step(), took = performance.now() - begun;
			if (check < 0) break;
			const planned = e.planned();
			if (seed > 0) (steps[check] ??= []).push(took - planned);
			if (seed > 0 && planned > 1) (steps[PLANNING] ??= []).push(planned);
			e.think();
			await breathe();
		}
	}
	result.steps = Object.entries(steps).map(([check, times]) => {
		times.sort((x, y) => x - y);
		return { check: Number(check), count: times.length, median: times[times.length >> 1], p99: times[Math.min(times.length - 1, Math.ceil(times.length * 0.99) - 1)], most: times[times.length - 1] };
	});
	return result;
}
