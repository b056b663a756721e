"use strict";

// The same arithmetic as patterns/screen has, by hand on typed arrays: what there is one word of 64 bits for a pixel is three of 32 here, for JavaScript has no wider ones
// that are fast. It is told of each screen where its greys begin and end, its depth and its light by code.

let screens; // as main.go lists them
const block = 64;

const depthBits = (bits) => (bits > 0 && bits < 8 ? 1 << (7 - Math.max(bits, 5)) : 0);

// Codes up to crush are black and from clip on full.
function hides(s, kind, mark) {
	if (kind === 0) return s.Crush >= 256 - mark;
	if (kind === 1) return s.Clip < mark;
	return (s.Depth & mark) !== 0;
}

function scatter(x) {
	const mask = (1n << 64n) - 1n;
	x = (x + 0x9e3779b97f4a7c15n) & mask;
	x = ((x ^ (x >> 30n)) * 0xbf58476d1ce4e5b9n) & mask;
	x = ((x ^ (x >> 27n)) * 0x94d049bb133111ebn) & mask;
	return x ^ (x >> 31n);
}

const carry7 = (1 << 22) - 1, carry6 = (1 << 19) - 1, carry5 = (1 << 16) - 1;
const guard7 = 1 << 22, guard6 = 1 << 19, guard5 = 1 << 16;

class Row {
	constructor(width) {
		const blocks = Math.ceil(width / block);
		this.pixel = new Uint32Array(block * blocks).fill(0x808080);
		this.dark = new Uint8Array(blocks);
		this.bright = new Uint8Array(blocks);
		this.mark = [new Uint8Array(width), new Uint8Array(width)];
		this.full = new Uint32Array(width);
		this.w7 = new Int32Array(width + 2);
		this.w6 = new Int32Array(width + 2);
		this.w5 = new Int32Array(width + 2);
		for (const x of [0, width + 1]) {
			this.w7[x] = guard7 >> 1;
			this.w6[x] = guard6 >> 1;
			this.w5[x] = guard5 >> 1;
		}
		this.a7 = new Int32Array(width + 2).fill(-1);
		this.a6 = new Int32Array(width + 2).fill(-1);
		this.a5 = new Int32Array(width + 2).fill(-1);
	}
}

const highest = (p) => {
	const r = p & 255, g = (p >> 8) & 255, b = (p >> 16) & 255;
	const m = r > g ? r : g;
	return m > b ? m : b;
};

const both = (p, q) => {
	let most = -1;
	for (let s = 0; s < 24; s += 8) {
		const c = (p >> s) & 255, d = (q >> s) & 255;
		if (c !== d) {
			const l = c < d ? c : d;
			if (l > most) most = l;
		}
	}
	return most;
};

class Looking {
	constructor(width, height) {
		Object.assign(this, { width, height });
		this.darkest = Math.max(...screens.Draws.map((s) => s.Crush));
		this.lightest = Math.min(...screens.Draws.map((s) => s.Clip));
		this.depths = screens.Draws.reduce((d, s) => d | s.Depth, 0);
		this.hid = [0, 1, 2].map((kind) => Int32Array.from({ length: 256 }, (_, m) => screens.Draws.filter((s) => hides(s, kind, m)).length));
		const step = (c, bits) => Math.floor((2 * c * ((1 << bits) - 1) + 255) / 510);
		this.t7 = [0, 1, 2].map((i) => Int32Array.from({ length: 256 }, (_, c) => (step(c, 7) << (7 * i)) | ((c & 1) << (23 + i))));
		this.t6 = [0, 1, 2].map((i) => Int32Array.from({ length: 256 }, (_, c) => step(c, 6) << (6 * i)));
		this.t5 = [0, 1, 2].map((i) => Int32Array.from({ length: 256 }, (_, c) => step(c, 5) << (5 * i)));
		const side = Math.sqrt((width * height) / screens.Cells);
		this.cols = Math.min(Math.max(Math.trunc(width / side), 1), width);
		this.rows = Math.min(Math.max(Math.trunc(height / side), 1), height);
		const n = this.cols * this.rows;
		this.edge = Int32Array.from({ length: this.cols + 1 }, (_, i) => Math.floor((i * width + this.cols - 1) / this.cols));
		this.column = new Int32Array(width);
		for (let x = 0; x < width; x++) this.column[x] = Math.floor((x * this.cols) / width);
		this.x = new Int32Array(n);
		this.y = new Int32Array(n);
		const first = (i, size, n) => Math.floor((i * size + n - 1) / n);
		for (let c = 0; c < n; c++) {
			const i = c % this.cols, k = Math.floor(c / this.cols), r = scatter(BigInt(c));
			const x0 = first(i, width, this.cols), y0 = first(k, height, this.rows);
			this.x[c] = x0 + Number((r >> 40n) % BigInt(first(i + 1, width, this.cols) - x0));
			this.y[c] = y0 + Number(((r >> 16n) & 0xffffffn) % BigInt(first(k + 1, height, this.rows) - y0));
		}
		this.colour = new Int32Array(n);
		this.samples = [0, 1, 2].map(() => new Uint8Array(n));
		this.sums = [0, 1, 2].map(() => new Float64Array(n));
		this.marks = [0, 1, 2].map(() => new Float64Array(256));
		this.index = new Map();
		this.colours = [];
		this.here = new Row(width);
		this.below = new Row(width);
		this.filled = this.done = 0;
	}

	push(bytes) {
		const pixels = new Uint32Array(bytes.buffer, bytes.byteOffset, bytes.byteLength >> 2);
		for (let at = 0; at < pixels.length; at += this.width) {
			const row = pixels.subarray(at, at + this.width);
			this.fill(this.below, row);
			const from = Math.floor((this.filled * this.rows) / this.height) * this.cols;
			for (let c = from; c < from + this.cols; c++) {
				if (this.y[c] !== this.filled) continue;
				const p = row[this.x[c]] & 0xffffff;
				let i = this.index.get(p);
				if (i === undefined) {
					i = this.colours.length;
					this.index.set(p, i);
					this.colours.push(p);
				}
				this.colour[c] = i;
			}
			if (++this.filled > 1) this.scan(this.here, this.below);
			[this.here, this.below] = [this.below, this.here];
		}
		if (this.filled === this.height) this.scan(this.here, null);
	}

	fill(l, row) {
		const n = this.width, pixel = l.pixel;
		pixel.set(row);
		for (let k = 0; k < l.dark.length; k++) {
			if (l.dark[k]) l.mark[0].fill(0, k * block, Math.min((k + 1) * block, n));
			if (l.bright[k]) {
				l.mark[1].fill(0, k * block, Math.min((k + 1) * block, n));
				l.full.fill(0, k * block, Math.min((k + 1) * block, n));
			}
		}
		const darkest = this.darkest, lightest = this.lightest;
		for (let k = 0; k < l.dark.length; k++) {
			let dark = 0, bright = 0;
			for (let x = k * block; x < (k + 1) * block; x++) {
				const top = highest(pixel[x]);
				dark |= top - darkest - 1;
				bright |= lightest - top - 1;
			}
			l.dark[k] = darkest > 0 && dark < 0 ? 1 : 0;
			l.bright[k] = lightest < 255 && bright < 0 ? 1 : 0;
			if (l.bright[k]) {
				for (let x = k * block, end = Math.min((k + 1) * block, n); x < end; x++) {
					const p = pixel[x];
					const top = ((p & 0x7f7f7f) + (256 - lightest) * 0x010101) & p & 0x808080;
					l.full[x] = p & ((top >> 7) * 255);
				}
			}
		}
		if (!this.depths) return;
		const [r7, g7, b7] = this.t7, [r6, g6, b6] = this.t6, [r5, g5, b5] = this.t5;
		const { w7, w6, w5 } = l;
		for (let x = 0; x < n; x++) {
			const p = pixel[x], r = p & 255, g = (p >> 8) & 255, b = (p >> 16) & 255;
			w7[x + 1] = r7[r] | g7[g] | b7[b];
			w6[x + 1] = r6[r] | g6[g] | b6[b];
			w5[x + 1] = r5[r] | g5[g] | b5[b];
		}
	}

	shadows(a, b) {
		const darkest = this.darkest, marks = a.mark[0], n = this.width, pixel = a.pixel;
		for (let k = 0; k < a.dark.length; k++) {
			if (!a.dark[k]) continue;
			for (let x = k * block, end = Math.min((k + 1) * block, n); x < end; x++) {
				const p = pixel[x] & 0xffffff, top = highest(p);
				if (top > darkest) continue;
				let m = marks[x];
				const pair = (q, mark, at) => {
					if (q === p) return;
					const h = highest(q), t = h > top ? h : top;
					if (t > darkest) return;
					const v = 256 - t;
					if (v > m) m = v;
					if (v > mark[at]) mark[at] = v;
				};
				if (x + 1 < n) pair(pixel[x + 1] & 0xffffff, marks, x + 1);
				if (b) for (let at = x > 0 ? x - 1 : 0; at <= x + 1 && at < n; at++) pair(b.pixel[at] & 0xffffff, b.mark[0], at);
				marks[x] = m;
			}
		}
	}

	lights(a, b) {
		const lightest = this.lightest, marks = a.mark[1], n = this.width, full = a.full;
		for (let k = 0; k < a.bright.length; k++) {
			if (!a.bright[k]) continue;
			for (let x = k * block, end = Math.min((k + 1) * block, n); x < end; x++) {
				const p = full[x];
				if (p === 0) continue;
				let m = marks[x];
				const pair = (q, mark, at) => {
					const d = p ^ q;
					if ((p & q & (((d & 0x7f7f7f) + 0x7f7f7f) | d) & 0x808080) === 0) return;
					const c = both(p, q);
					if (c < lightest) return;
					if (c + 1 > m) m = c + 1;
					if (c + 1 > mark[at]) mark[at] = c + 1;
				};
				if (x + 1 < n) pair(full[x + 1], marks, x + 1);
				if (b) for (let at = x > 0 ? x - 1 : 0; at <= x + 1 && at < n; at++) pair(b.full[at], b.mark[1], at);
				marks[x] = m;
			}
		}
	}

	steps(a, b, row) {
		const marks = this.marks[2], hid = this.hid[2], sums = this.sums[2], edge = this.edge;
		const { w7, w6, w5, a7, a6, a5 } = a, v7 = b.w7, v6 = b.w6, v5 = b.w5, n7 = b.a7, n6 = b.a6, n5 = b.a5;
		let p7 = w7[1], p6 = w6[1], p5 = w5[1], q7 = v7[1], q6 = v6[1], q5 = v5[1];
		let c7 = -1, c6 = -1, c5 = -1, u7 = -1, u6 = -1, u5 = -1;
		const counts = new Int32Array(8);
		for (let c = 0; c < this.cols; c++) {
			counts.fill(0);
			for (let x = edge[c] + 1; x <= edge[c + 1]; x++) {
				const r7 = w7[x + 1], r6 = w6[x + 1], r5 = w5[x + 1], s7 = v7[x + 1], s6 = v6[x + 1], s5 = v5[x + 1];
				let d = p7 ^ r7, e = (d - 1) >> 31;
				const along7 = (d + carry7) | e, along6 = ((p6 ^ r6) + carry6) | e, along5 = ((p5 ^ r5) + carry5) | e;
				d = p7 ^ q7; e = (d - 1) >> 31;
				const down7 = (d + carry7) | e, down6 = ((p6 ^ q6) + carry6) | e, down5 = ((p5 ^ q5) + carry5) | e;
				d = p7 ^ s7; e = (d - 1) >> 31;
				const across7 = (d + carry7) | e, across6 = ((p6 ^ s6) + carry6) | e, across5 = ((p5 ^ s5) + carry5) | e;
				d = r7 ^ q7; e = (d - 1) >> 31;
				const back7 = (d + carry7) | e, back6 = ((r6 ^ q6) + carry6) | e, back5 = ((r5 ^ q5) + carry5) | e;
				const x7 = a7[x] & c7 & along7 & down7 & across7, x6 = a6[x] & c6 & along6 & down6 & across6, x5 = a5[x] & c5 & along5 & down5 & across5;
				a7[x] = x7; a6[x] = x6; a5[x] = x5;
				n7[x] = u7 & down7 & back7; n6[x] = u6 & down6 & back6; n5[x] = u5 & down5 & back5;
				c7 = along7 & back7; c6 = along6 & back6; c5 = along5 & back5;
				u7 = across7; u6 = across6; u5 = across5;
				p7 = r7; p6 = r6; p5 = r5; q7 = s7; q6 = s6; q5 = s5;
				counts[((~x7 >> 22) & 1) | ((~x6 >> 18) & 2) | ((~x5 >> 14) & 4)]++;
			}
			for (let m = 0; m < 8; m++) {
				if (!counts[m]) continue;
				marks[m] += counts[m];
				sums[row + c] += counts[m] * hid[m];
			}
		}
	}

	scan(a, b) {
		const n = this.width, row = Math.floor((this.done * this.rows) / this.height) * this.cols;
		this.shadows(a, b);
		this.lights(a, b);
		for (let kind = 0; kind < 2; kind++) {
			const flags = kind ? a.bright : a.dark, marks = this.marks[kind], hid = this.hid[kind], sums = this.sums[kind], mark = a.mark[kind];
			for (let k = 0; k < flags.length; k++) {
				const from = k * block, to = Math.min(from + block, n);
				if (!flags[k]) {
					marks[0] += to - from;
					continue;
				}
				for (let x = from; x < to; x++) {
					const m = mark[x];
					marks[m]++;
					if (m) sums[row + this.column[x]] += hid[m];
				}
			}
		}
		if (this.depths) {
			if (!b) {
				b = new Row(n);
				b.w7.fill(guard7 >> 1); b.w6.fill(guard6 >> 1); b.w5.fill(guard5 >> 1);
			}
			this.steps(a, b, row);
		} else this.marks[2][0] += n;
		for (let c = row; c < row + this.cols; c++) {
			if (this.y[c] !== this.done) continue;
			const x = this.x[c];
			this.samples[0][c] = a.mark[0][x];
			this.samples[1][c] = a.mark[1][x];
			if (this.depths) this.samples[2][c] = ((~a.a7[x + 1] >> 22) & 1) | ((~a.a6[x + 1] >> 18) & 2) | ((~a.a5[x + 1] >> 14) & 4);
		}
		this.done++;
	}

	weigh() {
		const n = this.colours.length, bands = screens.Bands.length, colours = Int32Array.from(this.colours), m = screens.Matrix.map((row, i) => row.map((v) => v / screens.White[i]));
		const m00 = m[0][0], m01 = m[0][1], m02 = m[0][2], m10 = m[1][0], m11 = m[1][1], m12 = m[1][2], m20 = m[2][0], m21 = m[2][1], m22 = m[2][2];
		const sketch = (red, green, blue, p, to, at) => {
			const r = red[p & 255], g = green[(p >> 8) & 255], b = blue[p >> 16];
			const x = quick(m00 * r + m01 * g + m02 * b), y = quick(m10 * r + m11 * g + m12 * b), z = quick(m20 * r + m21 * g + m22 * b);
			const a = 500 * (x - y), c = 200 * (y - z);
			to[at] = 116 * y - 16;
			to[at + 1] = a;
			to[at + 2] = c;
			to[at + 3] = Math.sqrt(a * a + c * c);
		};
		const lab = (light, p) => {
			const r = light[0][p & 255], g = light[1][(p >> 8) & 255], b = light[2][p >> 16];
			const x = f(m00 * r + m01 * g + m02 * b), y = f(m10 * r + m11 * g + m12 * b), z = f(m20 * r + m21 * g + m22 * b);
			return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
		};
		const curves = screens.Bands.map((b) => { const l = Float64Array.from(b); return [l, l, l]; });
		const want = new Float64Array(4 * bands * n);
		for (let i = 0; i < n; i++) for (let k = 0; k < bands; k++) sketch(...curves[k], colours[i], want, 4 * (i * bands + k));
		const shifted = new Uint8Array(n), seen = new Float64Array(4), found = [[], [], [], [], []];
		const count = [new Uint32Array(this.colour.length), new Uint32Array(this.colour.length)];
		const pixels = this.width * this.height, hid = [0, 1, 2].map(() => new Uint8Array(256));
		for (const s of screens.Draws) {
			const [red, green, blue] = s.Light;
			for (let i = 0; i < n; i++) {
				sketch(red, green, blue, colours[i], seen, 0);
				let yes = 1, unclear = 0;
				for (let k = i * bands; k < (i + 1) * bands; k++) {
					const told = near(seen, want, 4 * k);
					if (told === within) { yes = 0; break; }
					if (told === open) unclear = 1;
				}
				if (yes && unclear) {
					const p = colours[i], exact = lab(s.Light, p);
					for (let k = 0; k < bands; k++) {
						if (near(seen, want, 4 * (i * bands + k)) !== apart && ciede2000(...exact, ...lab(curves[k], p)) <= 2.5) { yes = 0; break; }
					}
				}
				shifted[i] = yes;
			}
			let greatest = 0;
			for (let kind = 0; kind < 3; kind++) {
				let k = 0;
				for (let mark = 0; mark < 256; mark++) {
					hid[kind][mark] = hides(s, kind, mark) ? 1 : 0;
					if (hid[kind][mark]) k += this.marks[kind][mark];
				}
				found[kind].push(k / pixels);
				greatest = Math.max(greatest, k / pixels);
			}
			let moved = 0, any = 0;
			const [h0, h1, h2] = hid, [s0, s1, s2] = this.samples, [c0, c1] = count, colour = this.colour;
			for (let c = 0; c < colour.length; c++) {
				const is = shifted[colour[c]];
				const hidden = is | h0[s0[c]] | h1[s1[c]] | h2[s2[c]];
				c0[c] += is;
				c1[c] += hidden;
				moved += is;
				any += hidden;
			}
			found[3].push(moved / colour.length);
			found[4].push(Math.max(greatest, any / colour.length, moved / colour.length));
		}
		// The middle of what the screens hide.
		return found.map((list) => {
			const sorted = Float64Array.from(list).sort(), half = (sorted.length - 1) / 2;
			return (sorted[Math.floor(half)] + sorted[Math.ceil(half)]) / 2;
		});
	}
}

// Two colours told apart without angles, and cube roots by a table and one step of Newton's: as in patterns/screen.
const within = 0, apart = 1, open = 2;

function near(p, w, k) {
	const pl = p[0], pa0 = p[1], pb = p[2], ql = w[k], qa0 = w[k + 1], qb = w[k + 2];
	let d = (pl + ql) / 2 - 50;
	d *= d;
	let x = (pl - ql) / (1 + (0.015 * d) / Math.sqrt(20 + d));
	x *= x;
	if (x > 6.25 + 1e-3) return apart;
	const mean = (p[3] + w[k + 3]) / 2;
	let c7 = mean * mean * mean;
	c7 *= c7 * mean;
	const g = 1.5 - 0.5 * Math.sqrt(c7 / (c7 + 6103515625));
	const pa = g * pa0, qa = g * qa0, cp = Math.sqrt(pa * pa + pb * pb), cq = Math.sqrt(qa * qa + qb * qb);
	const c = (cp + cq) / 2, dc = cp - cq;
	let dh = (pa - qa) * (pa - qa) + (pb - qb) * (pb - qb) - dc * dc;
	if (dh < 0) dh = 0;
	let y = dc / (1 + 0.045 * c);
	y *= y;
	let most = 1 + 0.015 * 0.36 * c, least = 1 + 0.015 * 1.58 * c;
	most = dh / (most * most);
	least = dh / (least * least);
	c7 = c * c * c;
	c7 *= c7 * c;
	const cross = 1.7320509 * Math.sqrt((c7 / (c7 + 6103515625)) * y * most);
	if (x + y + most + cross < 6.25 - 1e-3) return within;
	if (x + y + least - cross > 6.25 + 1e-3) return apart;
	return open;
}

const roots = Float64Array.from({ length: 2 * 2048 + 2 }, (_, i) => Math.cbrt(i / 2048));

function quick(v) {
	if (v <= 216 / 24389) return (v * 841) / 108 + 4 / 29;
	if (v >= 2) return Math.cbrt(v);
	const at = v * 2048, i = at | 0;
	let y = roots[i];
	y += (at - i) * (roots[i + 1] - y);
	return y - (y * y * y - v) / (3 * y * y);
}

const f = (t) => (t > (6 / 29) ** 3 ? Math.cbrt(t) : t / 3 / (6 / 29) / (6 / 29) + 4 / 29);

const radians = Math.PI / 180;
const fade = (c) => {
	const c7 = (c * c * c) ** 2 * c;
	return Math.sqrt(c7 / (c7 + 6103515625));
};

function ciede2000(l1, a1, b1, l2, a2, b2) {
	const full = 2 * Math.PI, mean = (Math.hypot(a1, b1) + Math.hypot(a2, b2)) / 2, g = 1 + 0.5 * (1 - fade(mean));
	a1 *= g;
	a2 *= g;
	const c1 = Math.hypot(a1, b1), c2 = Math.hypot(a2, b2);
	let h1 = Math.atan2(b1, a1), h2 = Math.atan2(b2, a2);
	if (h1 < 0) h1 += full;
	if (h2 < 0) h2 += full;
	const dl = l2 - l1, dc = c2 - c1, l = (l1 + l2) / 2, c = (c1 + c2) / 2;
	let dh = h2 - h1, h = (h1 + h2) / 2;
	if (Math.abs(dh) > Math.PI + 1e-9) {
		dh -= dh < 0 ? -full : full;
		h += h1 + h2 < full ? Math.PI : -Math.PI;
	}
	const dH = 2 * Math.sqrt(c1 * c2) * Math.sin(dh / 2);
	const t = 1 - 0.17 * Math.cos(h - 30 * radians) + 0.24 * Math.cos(2 * h) + 0.32 * Math.cos(3 * h + 6 * radians) - 0.2 * Math.cos(4 * h - 63 * radians);
	const turn = 30 * radians * Math.exp(-(((h - 275 * radians) / (25 * radians)) ** 2));
	const l50 = (l - 50) * (l - 50);
	const x = dl / (1 + (0.015 * l50) / Math.sqrt(20 + l50)), y = dc / (1 + 0.045 * c), z = dH / (1 + 0.015 * c * t);
	return Math.sqrt(Math.max(x * x + y * y + z * z - Math.sin(2 * turn) * 2 * fade(c) * y * z, 0));
}

async function look(blob) {
	const times = {};
	const time = (part, f) => {
		const began = performance.now(), v = f();
		times[part] = (times[part] || 0) + performance.now() - began;
		return v;
	};
	const began = performance.now();
	const picture = await createImageBitmap(blob);
	times.decode = performance.now() - began;
	const most = Math.min(Math.max(Math.trunc((1 << 21) / picture.width), 1), 256, picture.height);
	const canvas = new OffscreenCanvas(picture.width, most), pen = canvas.getContext("2d", { willReadFrequently: true });
	const l = new Looking(picture.width, picture.height);
	for (let y = 0; y < picture.height; y += most) {
		const rows = Math.min(most, picture.height - y);
		const bytes = time("read", () => {
			pen.drawImage(picture, 0, y, picture.width, rows, 0, 0, picture.width, rows);
			return pen.getImageData(0, 0, picture.width, rows).data;
		});
		time("look", () => l.push(bytes));
	}
	picture.close();
	const found = time("weigh", () => l.weigh());
	return { found, times };
}

onmessage = (e) => {
	if (e.data.picture) {
		look(e.data.picture).then((m) => postMessage(m), (why) => postMessage({ error: String(why && why.stack) }));
		return;
	}
	screens = e.data;
	for (const s of screens.Draws) {
		s.Light = s.Light.map((l) => Float64Array.from(l));
		s.Depth = depthBits(s.Bits);
	}
	postMessage({ ready: true });
};
