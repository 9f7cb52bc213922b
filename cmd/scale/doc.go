// Command scale makes companies of a thousand to a hundred thousand instruments and measures what
// the program does with them: how long it takes to start, how much memory it takes, and how long
// the office's pages, a phone's work and a backup take.
//
// scale make writes a company into a new data folder. scale measure serves such folders with the
// real program and prints a table of its measurements; it judges nothing. scale rounds moves the
// rounds of a company to another day. It must never be part of a released program.
package main
