//go:build js && wasm

package main

import (
	"runtime"
	"runtime/metrics"
)

// spare is how many bytes may be thrown away before they are collected. The memory of a program on this host never shrinks, and all programs of an isolate share
// 128 MB; left alone, Go would let 4 MB go by.
const spare = 128 << 10

var (
	allocated = []metrics.Sample{{Name: "/gc/heap/allocs:bytes"}}
	collected uint64 // of allocated, at the last collection
)

// tidy collects what earlier requests left, if it is much.
func tidy() {
	metrics.Read(allocated)
	if now := allocated[0].Value.Uint64(); now-collected > spare {
		runtime.GC()
		collected = now
	}
}
