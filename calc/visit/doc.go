// Package visit holds the rules of a visit, for the phone and the office alike: its state and what
// comes next, which of its runs are reported, which captures are effective, the inputs of
// calculations about it, its summary, and what a signature covers.
//
// Its functions are pure. A Record is the merged state of a visit or a run. The office makes one
// from its store, and the calculation "visit" reads it from a document. A field with a value of the
// wrong form counts as not written: who may write what is checked when a change arrives.
package visit
