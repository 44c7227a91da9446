// Command thwart-wasm is the engine as a phone runs it, compiled by GOOS=js GOARCH=wasm.
//
// It puts one function on the global object, thwartCall(Uint8Array) → Uint8Array, and stays. What may be asked is described
// in package phone and, typed, in web/app/src/engine/types.ts. The call is synchronous: run it in a worker.
package main

import (
	"syscall/js"

	"thwart/phone"
)

func main() {
	engine := phone.New()
	js.Global().Set("thwartCall", js.FuncOf(func(_ js.Value, args []js.Value) any {
		request := make([]byte, args[0].Get("length").Int())
		js.CopyBytesToGo(request, args[0])
		reply := engine.Call(request)
		out := js.Global().Get("Uint8Array").New(len(reply))
		js.CopyBytesToJS(out, reply)
		return out
	}))
	if ready := js.Global().Get("thwartReady"); ready.Type() == js.TypeFunction {
		ready.Invoke()
	}
	select {}
}
