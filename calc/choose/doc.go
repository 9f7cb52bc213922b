// Package choose lists the standards' ranges for a visit on a day, the best first, with the
// objections to each. It also finds which certificate of a standard is in force, in which order
// certificates come and which points they have, which runs used the same data of a standard, and
// what to bring for a day. The calculation "serves" decides whether a range reaches far enough and
// is good enough; this package adds the dates, the state of the standard and the order.
package choose
