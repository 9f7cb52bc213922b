// Package watch tells whoever runs a server, and their tools, how it is doing.
//
// Figures are in the OpenMetrics format, under names that begin with gaugewright_. Health has two
// answers: live says that the process runs, ready that it should be sent work. Middleware gives
// each request an id, counts it by its route and logs a line where the server could not answer, or
// for all.
//
// Flow: server/api puts Middleware first; cmd/gaugewright serves Figures on an address of its own.
//
// It sees routes, statuses and sizes. It must never take a password, a token, a person's name, an
// id of a path, or the value of a record into a figure or a line of the log.
package watch
