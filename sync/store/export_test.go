package store

// Schema is the number of the file's form that this program writes.
var Schema = len(migrations)
