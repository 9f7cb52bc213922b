// Package leaktest is the kind of work on closed systems: phases at a test pressure, watched for
// a leak.
//
// Words. A phase is one test pressure with its times and its limit, which is for a slope, a rate, a
// change or an end pressure. A run is one pass through a phase. The volume is stated, or measured
// with an added volume.
//
// Flow. layLeakTest reads the method and writes the plan. evaluate collects the readings of each
// run, corrects them for temperature and air pressure, lets calc/leak fit the line, and judges:
// decide for a rate, decideChange for a change or an end pressure. A run that was never at its test
// pressure has no verdict.
//
// It knows no other kind of work. The physics of the leak is in calc/leak, that of a measured
// pressure in calc/work.
package leaktest
