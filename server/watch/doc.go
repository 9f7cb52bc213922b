// Package watch tells a server's operator, and their tools, how it is doing.
//
// Figures are in the OpenMetrics format, with names that begin with gaugewright_. Health has two
// answers: live says that the process runs, ready that it should be sent work. Middleware gives
// each request an id, counts it by route and logs a line for each that the server could not answer,
// or for all.
//
// Flow: server/api puts Middleware first; cmd/gaugewright serves Figures on a separate address.
//
// It sees routes, statuses and sizes. It must never put a password, a token, a person's name, an id
// in a path, or the value of a record into a figure or a line of the log.
package watch
