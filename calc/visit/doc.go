// Package visit holds the rules of a visit, once for the phone and the office: which state it is
// in and what comes next, which of its runs are reported, which captures are effective, what a
// calculation is given of it, its summary, and what a signature covers.
//
// Its functions are pure. A Record is what the merge made of all changes to a visit or a run; the
// office makes one from its store, the calculation "visit" reads it from a document. A field that
// does not hold what its kind of record wants counts as not written: who may write what is checked
// where a change arrives.
package visit
