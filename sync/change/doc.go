// Package change defines a change: which fields of which record took which values, by whom, on
// which device, and what the writer had seen. A change is the unit of sync and is never altered.
//
// The byte form is canonical JSON with the fields in this order and no blanks:
//
//	{"v":1,"id","device","seq","author","wall","stamp","record","kind","site","parent",
//	 "set":[{"field","value","sees":[change ids]}]}
//
// The fields:
//
//   - id is 26 random characters of 0123456789abcdefghjkmnpqrstvwxyz. Record ids have the same
//     form.
//   - seq counts the device's changes from 1. author is a user id.
//   - wall is the device's clock, RFC 3339 in UTC with milliseconds.
//   - stamp is COUNT-WALL-DEVICE: the count and the wall time have 12 hexadecimal digits each, in
//     lower case. The wall time is in milliseconds since 1970, plus 2^47, so that earlier times
//     sort too: 2026-03-04T05:06:07.089Z is 819cb73d3271. The count is one more than the highest
//     count that the writer had seen. Stamps are ordered by count, wall time, device; a wrong wall
//     clock therefore moves nobody.
//   - site and parent may be "".
//   - value is any JSON value without blanks: names in the order in which they were written, none
//     twice; numbers as they were written; in texts and names only quotes, backslashes and control
//     characters are escaped, as \" \\ \n \r \t \b \f and \u00 with two digits in lower case.
//   - sees names the heads of that field that the writer had seen, in rising order.
//
// Version is the number of this form. A reader takes it and lower ones. limits.go bounds the size
// of a change, of a value and the number of fields. Bytes and Parse are inverse; Scan is a faster
// reader of the canonical form that leaves everything else to Parse.
package change
