// Asks for the browser program before anything else is on its way; boot.js takes it from here. This element gives data-program (address) and data-size (bytes, or 0), and where that is
// a part of the program that does for most, data-whole and data-whole-size of all of it, which is asked for once this browser has something that the part does not know.
"use strict";

(() => {
	if (document.documentElement.dataset.leaving) return; // for the page in another language
	const page = document.currentScript.dataset;
	let whole = false;
	try {
		whole = !!page.whole && localStorage.getItem("plumb whole") === "yes";
	} catch {} // storage is denied, and nothing is kept
	const answer = fetch(whole ? page.whole : page.program, { credentials: "same-origin" });
	answer.catch(() => {}); // seen by whoever takes it
	globalThis.plumbProgram = { answer, size: Number(whole ? page.wholeSize : page.size) };
})();
