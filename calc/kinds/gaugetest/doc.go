// Package gaugetest is the kind of work on gauges and transmitters: readings at points, rising
// and falling, against a limit.
//
// Words. A method has points and cycles, or a list of series; a reading is asked for by its
// cycle, its direction and its point. The ready methods are the sequences of published
// guidelines.
//
// Flow. expand reads the method and the instrument and writes the plan. evaluate reads them
// again, takes the captures of each reading and hands the task to calc/gauge, which judges it. A
// sheet that is not complete is judged as far as it goes, and its verdict stays undecided.
//
// It knows no other kind of work and has no formula of its own: those are in calc/gauge.
package gaugetest
