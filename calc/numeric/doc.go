// Package numeric holds sums, fits, quantiles, rounding, exact fractions and elementary functions
// that give the same bits on every machine.
//
// The functions of package math differ between processors in their last bits, and a compiler may
// fuse a product with a sum. A finding that the phone made must equal the one that the server makes
// from the same record. So Exp, Log, Sin, the error function, the gamma and beta functions and the
// quantiles are written here, out of additions, products, quotients and square roots, which IEEE
// 754 defines to the last bit. The tests compare them with values computed to more digits.
//
// Exact is a fraction of whole numbers of any size, for decimals and limits. It replaces math/big,
// which adds reflection and formatted printing to the phone's module.
//
// Nothing here reads or writes anything, and nothing knows pressure.
package numeric
