// Package holdings says which records a phone holds of a plant that is too large for it: the base
// that all work needs, some instruments in full, and of all others what a search shows. It decides
// nothing about what a user may see beyond their sites, and writes nothing.
//
// A unit is an instrument, or a standard, with its visits, runs, certificates and past results. It
// is held whole or not at all.
package holdings
