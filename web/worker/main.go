//go:build js && wasm

package main

import (
	"github.com/syumai/workers"

	"example.org/plumb/web"
)

func main() {
	site, err := web.New(web.Assets{}, web.Version(), nil)
	if err != nil {
		panic(err)
	}
	workers.Serve(site)
}
