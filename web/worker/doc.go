// Command worker is the mailbox on an edge host that runs Go as WebAssembly, Cloudflare Workers. The host serves pages and assets by itself, from files that
// web/worker/build writes; the worker answers below /api/ with the handler that the server on one's own computer has, over D1 and R2.
package main
