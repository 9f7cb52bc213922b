// Package calendar gives rounds and due dates to calendar programs, as iCalendar (RFC 5545).
//
// feeds.go keeps who is given what at which secret address: a person's rounds, the due dates of a
// site, or everything. A calendar program cannot log in, so that the address is the key: it is made
// of 256 random bits, shown once, kept as a hash, and ends when somebody ends it, when its person's
// access ends, or when a backup is brought back. write.go writes the calendar.
//
// It must never:
//   - give a reading, a verdict or the name of a person;
//   - keep an address that can be read;
//   - give an event another UID than before.
package calendar
