// Package german translates texts of the program into German: the sentences that calculations write
// into records, which stay in English there, and the phrases of papers and labels.
//
// The sentences of the calculations come from the client, webapp/src/words/de, from which
// sentences.json is written: go test ./cmd/webbuild -run OneHomeOfGerman -args -write. Phrases of
// papers are in papers.json, those of labels and of machine-readable forms in things.json.
//
// It decides nothing and knows no record.
package german
