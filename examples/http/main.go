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
	server := &http.Server{
		Addr: "localhost:8080", Handler: newChecker(limits{body: 8 << 20, time: 20 * time.Second, atOnce: 4}),
		ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second, WriteTimeout: 60 * time.Second, MaxHeaderBytes: 16 << 10,
	}
	log.Printf("listening on %s", server.Addr)
	log.Fatal(server.ListenAndServe())
}
