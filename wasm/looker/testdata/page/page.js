"use strict";

var told = [];
var addresses = { boot: "/looker.js", program: "/looker.wasm", patience: 0, ...JSON.parse(decodeURIComponent(location.hash.slice(1)) || "{}") };
const started = new Promise((begun) => { globalThis.begun = begun; });
(async () => {
	const go = new Go();
	go.run((await WebAssembly.instantiateStreaming(fetch("/page.wasm"), go.importObject)).instance);
})();

const fetched = async (address) => (await fetch(address)).blob();
const text64 = async (blob) => {
	const b = new Uint8Array(await blob.arrayBuffer());
	let s = "";
	for (let i = 0; i < b.length; i += 8192) s += String.fromCharCode(...b.subarray(i, i + 8192));
	return btoa(s);
};

// answered waits for the end of a task.
async function answered(n) {
	for (;;) {
		const m = told.find((m) => m.n === n && m.over);
		if (m) return { Found: m.found, Error: m.error, Made: m.made ? await text64(m.made) : "", Shares: told.filter((m) => m.n === n && !m.over).map((m) => m.share), Times: told.filter((m) => m.n === n && m.over).length };
		await new Promise((f) => setTimeout(f, 10));
	}
}

// look asks about the file at an address.
async function look(n, task, address) {
	await started;
	ask(n, task, await fetched(address));
	return answered(n);
}
