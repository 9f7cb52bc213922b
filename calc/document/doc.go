// Package document reads and writes the JSON documents of the calculations without reflection. It
// keeps numbers as they were typed.
//
// Parse reads bytes into values. Reader takes values out by name; it remembers the first error and
// names its field. Writer writes a reply in canonical form: no blanks, shortest digits that read
// back to the same float64, never NaN or infinite. A Calculation is a named function from Reader to
// Writer; a Sample makes valid documents from a seed for the tests.
//
// A field that nobody reads is an error (Done). Every refusal has a code, a field and a sentence.
//
// The package exists because encoding/json needs reflection, which costs the phone's module
// hundreds of kilobytes, and because a decimal must come out with the digits that went in.
// limits.go bounds the size, the depth and the number of values of a document.
package document
