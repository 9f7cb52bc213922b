// Package medium gives local gravity and the density of air, gases and liquids.
//
// Gravity follows from latitude and height above the ellipsoid, or is given. Moist air is the
// CIPM-2007 formula with the paper's gas constant. Gases are ideal; liquids are water, mercury and
// a stated density. Results are in SI units.
//
// Inputs far outside the range of a formula are refused with the field's name. For moist air
// outside the range that the paper recommends, the density is given and marked.
package medium
