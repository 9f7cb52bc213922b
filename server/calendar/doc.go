// Package calendar gives rounds and due dates to calendar programs, as iCalendar (RFC 5545).
//
// feeds.go keeps the feeds: each has a secret address and gives a person's rounds, the due dates of
// a site, or everything. A calendar program cannot log in, so the address is the key. It is made of
// 256 random bits, shown once and stored as a hash. It ends when somebody ends it, when its person
// loses access, or when a backup is restored. write.go writes the calendar.
//
// It must never:
//   - give a reading, a verdict or the name of a person;
//   - store an address in readable form;
//   - change the UID of an event.
package calendar
