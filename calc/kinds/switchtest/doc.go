// Package switchtest is the kind of work on pressure switches: set point, reset point and dead
// band over cycles.
//
// Words. A contact acts on rising or on falling pressure. A cycle is one way through the window and
// back. A safety function is tested as found only once, so that a failure cannot be repeated away.
//
// Flow. laySwitch reads the contacts and the method, finds the window and writes the plan. evaluate
// takes typed values or finds the changes in a logger's record (calc/switches), judges every set
// point and dead band, and gives the worst verdict.
//
// It knows no other kind of work.
package switchtest
