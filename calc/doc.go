// Package calc runs a named calculation: one JSON document in, one JSON document out. The same code
// runs on the phone, on the server and on the command line, and gives the same bits everywhere.
//
// Words. A calculation has a name, an input and an output; calc/schema holds the schema of both. A
// method is a kind of work with its parameters. A plan is the ordered list of steps that a method
// expands to. A sheet is a method with the captures of one run. A finding is what the evaluation of
// a sheet says: figures, uncertainty, verdict, warnings.
//
// Flow. Call finds a calculation by name, reads the document, runs the calculation and writes the
// reply or the error form {"error":{"code","field","message"}}. This package is the two tables: of
// the calculations, and of the kinds of work. Each kind is a package of calc/kinds, and none
// imports another; what they share is in calc/work. The calculations that ask the kinds (expand,
// evaluate, entry, serves, reverse) are given the table. The physics is in the packages below
// calc/work, which never read a kind.
//
// Rules for everything under calc:
//   - No I/O, clock, randomness without a seed, goroutine, map order or global state.
//   - Every product of floats that feeds + or - is written float64(x*y), so that no compiler fuses
//     it. Of package math only Sqrt, Floor, Ceil, Trunc, Round, Abs, Frexp, Ldexp, IsNaN, IsInf,
//     Inf, the conversions to and from bits, and constants. Everything else is in calc/numeric.
//   - What the phone loads imports neither fmt, encoding/json, reflect, net/http, os nor time.
//   - Version rises whenever a number that leaves a calculation can change.
//   - Nothing that was asked for is ignored: a recorded value enters the result or is refused.
package calc
