//go:build js

// Command page lets a test use a browser.Looker: ask(n, task, picture), stop(n) and told, a list of what came back.
package main

import (
	"syscall/js"
	"time"

	"example.org/plumb/wasm/browser"
)

func main() {
	told := js.Global().Get("told")
	tell := func(m map[string]any) { told.Call("push", m) }
	data := func(name string) string { return js.Global().Get("addresses").Get(name).String() }
	l := &browser.Looker{
		Boot: data("boot"), Runtime: "/wasm_exec.js", Program: data("program"),
		Patience: time.Duration(js.Global().Get("addresses").Get("patience").Int()) * time.Millisecond,
		Studying: func(n int, share float64) { tell(map[string]any{"n": n, "share": share}) },
		Studied: func(n int, found []byte, made js.Value, err error) {
			m := map[string]any{"n": n, "over": true, "found": string(found), "made": made, "error": ""}
			if err != nil {
				m["error"] = err.Error()
			}
			tell(m)
		},
	}
	js.Global().Set("ask", js.FuncOf(func(_ js.Value, args []js.Value) any {
		l.Run(args[0].Int(), []byte(args[1].String()), args[2])
		return nil
	}))
	js.Global().Set("stop", js.FuncOf(func(_ js.Value, args []js.Value) any { l.Stop(args[0].Int()); return nil }))
	js.Global().Get("begun").Invoke()
	select {}
}
