// Package web is the whole site as handlers: pages, assets, two questions a machine may ask, and a mailbox for what others have sealed. It can read none of that.
package web

import "net/http"

// policy forbids what the pages do not need: anything from elsewhere, and any script or style inside a page but two scripts, which it names by their digests (see within).
const policy = "default-src 'none'; script-src 'self' " +
	"'sha256-QCVu5f+/qvJ4sVnTPpOt1/q/6qR0/QjlkKGnL04vqyo=' " + // language.js
	"'sha256-9NbAqeYrWLKDvbvF6dd5i7zb4d5gF6yVLL08+rW7mkg=' " + // early.js
	"'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; " +
	"connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// permissions denies every browser feature that the pages do not use. Full screen is used.
const permissions = "accelerometer=(), autoplay=(), browsing-topics=(), camera=(), display-capture=(), encrypted-media=(), fullscreen=(self), " +
	"gamepad=(), geolocation=(), gyroscope=(), hid=(), idle-detection=(), local-fonts=(), magnetometer=(), microphone=(), midi=(), payment=(), " +
	"picture-in-picture=(), publickey-credentials-get=(), screen-wake-lock=(self), serial=(), usb=(), xr-spatial-tracking=()"

// protect puts the headers on an answer that every answer carries.
func protect(h http.Header) {
	h.Set("Content-Security-Policy", policy)
	h.Set("Permissions-Policy", permissions)
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Embedder-Policy", "require-corp")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Referrer-Policy", "no-referrer")
	h.Set("X-Content-Type-Options", "nosniff")
}
