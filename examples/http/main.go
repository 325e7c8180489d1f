// Command http is an example of a service that checks reports of finds. It keeps nothing: neither
// what it is sent nor what it answers, and it logs neither. Put it behind a server that does TLS.
//
//	curl --data-binary @season.xlsx -H 'Accept: application/json' http://localhost:8080/
package main

import (
	"log"
	"net/http"
	"time"
)

func main() {
	server := newServer("localhost:8080", newChecker(limits{most: 8 << 20, time: 20 * time.Second, atOnce: 4}))
	log.Printf("listening on %s", server.Addr)
	log.Fatal(server.ListenAndServe())
}

// newServer returns a server with a limit for each thing that a sender can draw out.
func newServer(address string, handler http.Handler) *http.Server {
	return &http.Server{
		Addr: address, Handler: handler, MaxHeaderBytes: 16 << 10,
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second, WriteTimeout: 60 * time.Second,
		IdleTimeout: 60 * time.Second,
	}
}
