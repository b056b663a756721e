// Command worker is the site on an edge host that runs Go as WebAssembly. The host serves the assets; the worker serves the pages.
package main
