//go:build !(js && wasm)

package main

import (
	"fmt"
	"os"
)

func main() {
	fmt.Fprintln(os.Stderr, "findslip-wasm: this is for browsers; build it with GOOS=js GOARCH=wasm, or make the page "+
		"with findslip-page")
	os.Exit(2)
}
