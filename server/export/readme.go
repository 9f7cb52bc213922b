package export

import (
	"fmt"
	"strings"
)

// readMe is the file README.txt: it explains the folder to somebody who has nothing else.
func readMe(a *About) []byte {
	var b strings.Builder
	b.WriteString(`RECORDS OF PRESSURE INSTRUMENTS

This folder has the records of a plant's pressure instruments: what they are, every visit to
them with every reading, what was found, the standards that were used and the certificates.
No program is needed to read it: .csv opens in any spreadsheet (UTF-8, comma, decimal point),
.json and .txt in any editor.

`)
	if a.Part != "" {
		fmt.Fprintf(&b, "IT IS A PART: %s, with what their records rest on.\n\n", a.Part)
	} else {
		b.WriteString("It is all that the plant had.\n\n")
	}
	fmt.Fprintf(&b, "The newest entry was made at %s (UTC).\n\n", a.Newest)
	b.WriteString(`TABLES. Each is there as TABLE.csv and TABLE.json with the same columns; JSON also has
every field of the record ("fields") or the whole evaluation ("finding"). tables.schema.json
describes the JSON (JSON Schema 2020-12). Values stand as they were typed, with the unit they
were typed in. In .csv an apostrophe stands before a text that a spreadsheet would take for a
formula. ids join the tables: "visit" is the same in all of them.

`)
	for i := range tables {
		t := &tables[i]
		fmt.Fprintf(&b, "%s: %s\n", t.name, t.means)
		for _, c := range t.columns {
			fmt.Fprintf(&b, "    %-22s %s\n", c.name, c.means)
		}
		b.WriteByte('\n')
	}
	b.WriteString(`OTHER FILES
certificates/NUMBER.pdf    the certificate
certificates/NUMBER.xml    its form for machines, where it has one
certificates/NUMBER.json   its signed record (RFC 7515), where it has one
files/                     photos, records of loggers and other files, named by their SHA-256;
                           files.csv says which is which
record/changes.jsonl       every change that was ever made to these records, one a line in the
                           order in which they were kept; all tables are made of it
export.json                what this folder is
SHA256SUMS                 the SHA-256 of every other file

WHETHER IT IS WHOLE
    sha256sum -c SHA256SUMS
says whether any file was altered or is missing since the folder was written.
    gaugewright verify FOLDER
also holds signatures, findings and tables to record/changes.jsonl.

WHAT IS NOT IN IT
Accounts, passwords, private keys and settings. What people had erased is not in it either.

A NEW PLANT OF IT
    gaugewright import --data NEW --write FOLDER
`)
	return []byte(b.String())
}
