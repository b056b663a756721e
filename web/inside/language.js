// Goes to this page in the language of whoever reads, if it is there in it: the one that was chosen here, else the first of those that the browser asks for. What stands behind ? and #
// comes along and stays in the browser. The page gives, on its root, its lang, and in data-languages the tags of all there are: the first has no folder, the others have one called so.
// While it leaves, the root has data-leaving, and nothing else is to begin.
"use strict";

(() => {
	const root = document.documentElement;
	const [plain, ...others] = root.dataset.languages.split(" ");
	const kept = "plumb language"; // under which the choice is kept

	// within is where this page is in a language. Its path never begins with two slashes, which would lead to another site.
	const within = (language) => {
		let path = location.pathname.replace(/^\/*/, "/");
		const folder = path.split("/")[1];
		if (others.includes(folder)) path = path.slice(1 + folder.length).replace(/^\/*/, "/");
		return (language === plain ? "" : `/${language}`) + path;
	};

	// A choice is kept and the page then opened: by a press of either button of the mouse, or by the keyboard.
	const choose = (e) => {
		const link = e.target.closest?.("[data-language]");
		if (!link) return;
		link.href = within(link.dataset.language) + location.search + location.hash;
		try {
			localStorage.setItem(kept, link.dataset.language);
		} catch {} // it then holds for this page
	};
	document.addEventListener("click", choose);
	document.addEventListener("auxclick", choose);

	let wishes;
	try {
		wishes = [localStorage.getItem(kept) ?? "", ...navigator.languages];
	} catch {
		return; // a choice could not be kept, and would be undone here
	}
	const there = [plain, ...others].sort((a, b) => b.length - a.length); // de-ch before de
	const wanted = wishes.map((w) => there.find((l) => `${w.toLowerCase()}-`.startsWith(`${l}-`))).find(Boolean);
	if (!wanted || wanted === root.lang || within(wanted) === location.pathname) return;
	root.dataset.leaving = wanted;
	root.hidden = true; // rather than shown in one language and then in another
	setTimeout(() => { root.hidden = false; }, 3000);
	location.replace(within(wanted) + location.search + location.hash);
})();
