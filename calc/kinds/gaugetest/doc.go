// Package gaugetest is the kind of work on gauges and transmitters: readings at points, rising
// and falling, against a limit.
//
// Words. A method has points and cycles, or a list of series; a reading has a cycle, a direction
// and a point. The ready methods are the sequences of published guidelines.
//
// Flow. expand reads the method and the instrument and writes the plan. evaluate reads them again,
// collects the captures of each reading and passes the task to calc/gauge, which judges it. An
// incomplete sheet is judged as far as it goes, and its verdict stays undecided.
//
// It knows no other kind of work and has no formula of its own: those are in calc/gauge.
package gaugetest
