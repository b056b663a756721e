// Keeps one version of the site whole in the browser, so that it opens and runs without a network. What is kept, and the name of the version, are in the line before
// this file, written by the server: held.name, held.files (their addresses change with their bytes) and held.pages (their addresses stay).
//
// A page and all that it loads come from the same version. A newer one is fetched aside and waits until a page says that it may take over, or until none is open.

const store = "plumb " + held.name;

// plain is a response that a browser takes for a page where the one that was fetched had come by way of another address.
async function plain(response) {
	return response.redirected ? new Response(await response.blob(), { status: response.status, headers: response.headers }) : response;
}

async function fill() {
	const mine = await caches.open(store);
	for (const address of held.files) {
		if (await mine.match(address)) continue;
		const known = await caches.match(address); // of the version before
		const response = known || (await fetch(address));
		if (!response.ok) throw new Error(`${address}: ${response.status}`);
		await mine.put(address, response);
	}
	for (const address of held.pages) {
		const response = await fetch(address, { cache: "no-cache" });
		if (!response.ok) throw new Error(`${address}: ${response.status}`);
		await mine.put(address, await plain(response));
	}
}

// clear keeps this version and the one before, of which pages may still be open.
async function clear() {
	const names = (await caches.keys()).filter((n) => n.startsWith("plumb ") && n !== store);
	for (const n of names.slice(0, -1)) await caches.delete(n);
}

async function answer(address, request) {
	const mine = await caches.open(store);
	return (await mine.match(address)) || (await caches.match(address)) || fetch(request);
}

self.addEventListener("install", (e) => e.waitUntil(fill()));
self.addEventListener("activate", (e) => e.waitUntil(clear().then(() => self.clients.claim())));
self.addEventListener("message", (e) => {
	if (e.data === "take over") self.skipWaiting();
});
self.addEventListener("fetch", (e) => {
	const url = new URL(e.request.url);
	if (e.request.method !== "GET" || url.origin !== self.location.origin) return;
	const page = [url.pathname, url.pathname.replace(/(.)\/$/, "$1"), `${url.pathname}/`].find((p) => held.pages.includes(p));
	if (e.request.mode === "navigate") {
		if (page) e.respondWith(answer(page, e.request));
	} else if (held.files.includes(url.pathname) || url.pathname.startsWith("/assets/")) {
		e.respondWith(answer(url.pathname, e.request));
	}
});
