// Keeps the site in the browser for when there is no network, and says when a newer version of it is there. Neither happens while somebody judges.

const line = document.getElementById("newer");
const rest = 3000; // ms after the program is there, so that the first pattern comes first

const judging = () => /^(intro|sitting|paused|view)$/.test(document.body.dataset.stage || "");

// quiet is kept when the program is there and nobody judges, and has been so for a while.
function quiet() {
	return new Promise((done) => {
		let timer = 0;
		const look = () => {
			clearTimeout(timer);
			if (document.body.dataset.stage && !judging()) timer = setTimeout(() => { watch.disconnect(); done(); }, rest);
		};
		const watch = new MutationObserver(look);
		watch.observe(document.body, { attributes: true, attributeFilter: ["data-stage"] });
		look();
	});
}

let waiting = null;

function show() {
	line.hidden = !waiting || judging();
}

function found(worker) {
	if (worker?.state === "installed" && navigator.serviceWorker.controller) {
		waiting = worker;
		show();
	}
}

async function keep() {
	await quiet();
	const kept = await navigator.serviceWorker.register("/offline.js", { updateViaCache: "none" });
	found(kept.waiting);
	kept.addEventListener("updatefound", () => {
		const coming = kept.installing;
		coming?.addEventListener("statechange", () => found(coming));
	});
	await navigator.serviceWorker.ready;
	document.getElementById("stays").hidden = false;
}

if (line && navigator.serviceWorker && !document.documentElement.hasAttribute("data-leaving")) {
	new MutationObserver(show).observe(document.body, { attributes: true, attributeFilter: ["data-stage"] });
	document.getElementById("take").addEventListener("click", () => {
		navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
		waiting?.postMessage("take over");
	});
	// Where a browser does not let a page keep anything, the site works as ever.
	keep().catch(() => {});
}
