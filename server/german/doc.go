// Package german gives texts of the program in German: sentences that the calculations write into
// records, which stay in English there, and the phrases of papers and labels.
//
// The sentences of the calculations are those of the client, webapp/src/words/de, from which
// sentences.json is written: go test ./cmd/webbuild -run OneHomeOfGerman -args -write. Phrases of
// papers are in papers.json and those of labels and of forms for machines in things.json.
//
// It decides nothing and knows no record.
package german
