"use strict";

// A worker, and what it answers to one task at a time.
class Hired {
	constructor(script, boot) {
		this.worker = new Worker(script);
		this.ready = new Promise((kept, broken) => {
			this.worker.onerror = (e) => broken(new Error(e.message));
			this.worker.onmessage = (e) => {
				if (e.data.ready) kept();
				if (e.data.fell) broken(new Error(e.data.fell));
			};
		});
		this.worker.postMessage(boot);
	}
	async ask(message) {
		await this.ready;
		return new Promise((kept, broken) => {
			this.worker.onmessage = (e) => {
				const m = e.data;
				if (m.found) kept(m);
				if (m.error || m.fell) broken(new Error(m.error || m.fell));
			};
			this.worker.postMessage(message);
		});
	}
	end() {
		this.worker.terminate();
	}
}

// gaps tells, once stopped, how long the page's own thread kept a timer of 4 ms waiting at most, in ms.
function gaps() {
	let last = performance.now(), most = 0;
	const look = () => {
		const now = performance.now();
		most = Math.max(most, now - last - 4);
		last = now;
	};
	const timer = setInterval(look, 4);
	return () => {
		look();
		clearInterval(timer);
		return most;
	};
}

const rest = (ms) => new Promise((f) => setTimeout(f, ms));

// measure looks at a picture by turns with the program and with the same in JavaScript, each in a worker of its own.
async function measure(picture, runs) {
	const blob = await (await fetch(picture)).blob();
	const task = await (await fetch("task.json")).text();
	const see = await (await fetch("see.json")).text();
	const screens = await (await fetch("screens.json")).json();
	const list = [];
	const program = new Hired("looker.js", { runtime: "/wasm_exec.js", program: "/looker.wasm" });
	const twin = new Hired("twin.js", screens);
	await program.ready;
	await twin.ready;
	for (let i = 0; i < runs; i++) {
		await rest(300);
		const began = performance.now();
		const a = await program.ask({ n: i, task, picture: blob });
		const all = performance.now() - began;
		await rest(300);
		const b = await twin.ask({ picture: blob });
		list.push({ Program: { ...a.times, all }, Twin: b.times, Found: JSON.parse(a.found).Hidden, Same: b.found });
	}
	// How the page fares meanwhile is measured apart, for that takes time too; and without a task, for what else the computer does.
	await rest(300);
	let stop = gaps();
	await rest(2000);
	const idle = stop();
	stop = gaps();
	await program.ask({ n: runs, task, picture: blob });
	const gap = stop();
	stop = gaps();
	const s = await program.ask({ n: runs + 1, task: see, picture: blob });
	const made = { ...s.times, gap: stop() };
	program.end();
	twin.end();
	return { Bytes: blob.size, Runs: list, See: made, Gap: gap, Idle: idle };
}
