//go:build !js

package main

import (
	"fmt"
	"os"
)

func main() {
	fmt.Fprintln(os.Stderr, "worker: this program runs on an edge host; build it with GOOS=js GOARCH=wasm. On a computer of your own use go run ./web/server")
	os.Exit(2)
}
