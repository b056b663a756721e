//go:build js && wasm

package d1

import (
	"errors"
	"syscall/js"
)

// await waits for a promise. Its error is what the promise was rejected with.
func await(promise js.Value) (js.Value, error) {
	type outcome struct {
		value js.Value
		err   error
	}
	done := make(chan outcome, 1)
	then := js.FuncOf(func(_ js.Value, args []js.Value) any {
		done <- outcome{value: args[0]}
		return nil
	})
	defer then.Release()
	fail := js.FuncOf(func(_ js.Value, args []js.Value) any {
		done <- outcome{err: errors.New(args[0].Call("toString").String())}
		return nil
	})
	defer fail.Release()
	promise.Call("then", then, fail)
	o := <-done
	return o.value, o.err
}

var uint8Array = js.Global().Get("Uint8Array")

// toJS copies bytes.
func toJS(b []byte) js.Value {
	a := uint8Array.New(len(b))
	js.CopyBytesToJS(a, b)
	return a
}

// toGo copies the bytes of an ArrayBuffer, a view of one or an array of numbers.
func toGo(v js.Value) []byte {
	a := uint8Array.New(v)
	b := make([]byte, a.Length())
	js.CopyBytesToGo(b, a)
	return b
}
