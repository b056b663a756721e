// Starts the browser program: looks whether the browser can run it, loads it with progress, and says so in words when any of this fails.
// The script early.js, inside the page, has asked for the program and left the answer in plumbProgram. Where it may not run, the program is asked for here: the part of it that does
// for most. The page gives, on the element "stage", in a language other than English data-words, the address of what is said in it, which the program finds as text in plumbWords.
// Without it the program speaks English. The script wasm_exec.js runs once the page is parsed and has its styles; this one runs as soon as it is there, so that the program is
// compiled while it comes.

let stage, bar; // once the page is parsed

const parsed = new Promise((done) => {
	if (document.readyState === "loading") document.addEventListener("readystatechange", done, { once: true });
	else done();
}).then(() => {
	stage = document.getElementById("stage");
	bar = document.getElementById("loading");
});

// scripted is when the scripts of the page ran, or will not.
const scripted = new Promise((done) => {
	if (typeof Go === "function" || document.readyState === "complete") done();
	document.addEventListener("DOMContentLoaded", done, { once: true });
	window.addEventListener("load", done, { once: true });
});

let messages = {}; // by the English message, in the language of the page
const say = (message, ...more) => (messages[message] || message).replace("%d", () => more[0]);

const kept = "Answers given earlier on this page are kept in this browser; when the program runs again it offers to go on from there.";

const stopped = ["The program stopped", "It ran into something it was not made for.", "Try again: the sitting can go on from the last answer that was kept."];

// trouble replaces the stage by what happened, what was kept and what to do.
function trouble(title, text, remedy, detail) {
	document.body.dataset.stage = "trouble";
	document.body.dataset.over = "";
	document.getElementById("field").hidden = true;
	document.getElementById("screen").removeAttribute("data-presentation");
	const page = document.createElement("div");
	page.className = "page trouble";
	const add = (tag, content, className) => {
		const e = document.createElement(tag);
		e.textContent = content;
		if (className) e.className = className;
		page.append(e);
		return e;
	};
	const h = add("h1", say(title));
	h.tabIndex = -1;
	add("p", say(...[text].flat()), "lead");
	add("p", say(kept));
	add("p", "").append(Object.assign(document.createElement("b"), { textContent: say(remedy) }));
	const actions = add("p", "", "actions");
	const again = document.createElement("button");
	again.type = "button";
	again.textContent = say("Try again");
	again.addEventListener("click", () => location.reload());
	actions.append(again);
	if (detail) {
		const d = document.createElement("details");
		const s = document.createElement("summary");
		s.textContent = say("For whoever looks into it");
		const p = document.createElement("pre");
		p.textContent = detail;
		d.append(s, p);
		page.append(d);
	}
	stage.replaceChildren(page);
	h.focus();
}

// lines are the last that the program wrote: what it says when it stops.
const lines = [];
function listen() {
	const log = console.log;
	console.log = (...words) => {
		lines.push(words.join(" "));
		if (lines.length > 60) lines.shift();
		log.apply(console, words);
	};
}

// counted passes a body through and tells how much of it came.
function counted(response, size) {
	if (!response.body || !window.TransformStream) return response;
	let got = 0;
	const meter = new TransformStream({
		transform(chunk, out) {
			got += chunk.byteLength;
			if (bar && size > 0) bar.value = Math.min(100, (100 * got) / size);
			out.enqueue(chunk);
		},
	});
	return new Response(response.body.pipeThrough(meter), { headers: { "Content-Type": "application/wasm" } });
}

// ask asks for the program.
function ask() {
	const page = document.querySelector("script[data-program]").dataset;
	return { answer: fetch(page.program, { credentials: "same-origin" }), size: Number(page.size) };
}

// load fetches the program and compiles it while it comes.
async function load() {
	const { answer, size } = globalThis.plumbProgram ?? ask();
	let response;
	try {
		response = await answer;
	} catch (e) {
		throw { title: "The program could not be loaded", text: "The connection broke off or there is none.", remedy: "Check the connection, then try again.", cause: e };
	}
	if (!response.ok) {
		throw { title: "The program could not be loaded", text: ["The server answered %d where the program should be.", response.status], remedy: "Try again in a while. If it stays so, tell whoever runs this site.", cause: response.statusText };
	}
	try {
		const body = counted(response, size);
		if (WebAssembly.compileStreaming) return await WebAssembly.compileStreaming(body);
		return await WebAssembly.compile(await body.arrayBuffer());
	} catch (e) {
		throw refused(e);
	}
}

// refused is what to say of a program that the browser does not take.
function refused(e) {
	if (e instanceof WebAssembly.CompileError && /eval|Content.Security|unsafe/i.test(e.message)) {
		return { title: "WebAssembly is not allowed here", text: "The rules of this site, of an extension or of your organisation forbid WebAssembly, which the check is made of.", remedy: "Switch off the extension that forbids it, or use another browser.", cause: e };
	}
	if (e instanceof WebAssembly.CompileError || e instanceof WebAssembly.LinkError) {
		return { title: "The program is not whole", text: "What was loaded is damaged, or belongs to another version of this page.", remedy: "Try again. If it stays so, clear this site's cached files.", cause: e };
	}
	if (e instanceof RangeError || /memory/i.test(String(e && e.message))) {
		return { title: "Not enough memory", text: "The browser has no room for the program.", remedy: "Close other tabs and programs, then try again.", cause: e };
	}
	return { title: "The program could not be loaded", text: "Loading broke off before its end.", remedy: "Check the connection, then try again.", cause: e };
}

// learn fetches what is said in the language of the page. Nothing depends on it: where it does not come, the page goes on in English.
async function learn() {
	if (!stage.dataset.words) return;
	try {
		const response = await fetch(stage.dataset.words, { credentials: "same-origin", signal: AbortSignal.timeout?.(20000) });
		if (!response.ok) throw new Error(String(response.status));
		const text = await response.text();
		messages = JSON.parse(text).messages || {};
		globalThis.plumbWords = text;
	} catch (e) {
		console.warn("the language of this page could not be loaded", e);
		document.documentElement.lang = "en";
	}
}

async function start() {
	if (typeof WebAssembly !== "object" || !WebAssembly.instantiate) {
		throw { title: "This browser has no WebAssembly", text: "The check is a program that runs inside the browser, and this one cannot run it: it is too old, or WebAssembly is switched off, as in some lockdown modes.", remedy: "Allow WebAssembly for this site, or use a current browser." };
	}
	if (!document.createElement("canvas").getContext?.("2d") || !window.ResizeObserver) {
		throw { title: "This browser cannot draw the patterns", text: "It gives no canvas to paint on, or does not tell how large one is.", remedy: "Allow canvas drawing for this site, or use a current browser." };
	}
	const loading = load();
	loading.catch(() => {}); // seen below
	await scripted;
	if (typeof Go !== "function") {
		throw { title: "The program could not be loaded", text: "A part that it needs did not arrive.", remedy: "Check the connection, then try again." };
	}
	listen();
	const go = new Go();
	const module = await loading;
	const instance = await WebAssembly.instantiate(module, go.importObject).catch((e) => {
		throw refused(e);
	});
	await learned;
	globalThis.goMem = instance.exports.mem;
	document.getElementById("field").hidden = false;
	// What the browser throws into the program ends it without a word. Errors of others' scripts do not.
	window.addEventListener("error", (e) => {
		if (/wasm/.test(e.error?.stack)) trouble(...stopped, [e.message, ...lines.slice(-40)].join("\n"));
	});
	await go.run(instance);
	throw new Error("it ended");
}

// The first look at a site's storage takes a while. It is done while the program comes.
try {
	indexedDB.databases?.().catch(() => {});
} catch {} // storage is denied, as the program will find and say

const leaving = document.documentElement.hasAttribute("data-leaving"); // for the page in another language
const learned = leaving ? null : parsed.then(learn);

if (!leaving) parsed.then(start).catch(async (e) => {
	await learned;
	const ours = e && e.title;
	const cause = ours ? e.cause : e;
	const detail = [cause ? String(cause) : "", ...lines.slice(-40)].filter(Boolean).join("\n");
	if (ours) trouble(e.title, e.text, e.remedy, detail);
	else trouble(...stopped, detail);
});
