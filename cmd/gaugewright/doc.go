// Command gaugewright is the whole program: the server, the hub, the calculations on the command
// line, the check of programmes and of a data folder, backups, the import of a register, and
// accounts.
//
// Each file is one subcommand or a few that belong together. main.go has the table of subcommands.
// A subcommand has its own flags; -h prints them. serve and demo share the options of
// server/config.
//
// Exit status 0 means done, 1 that it could not be done, 2 that the options or the document were
// wrong and the message was already written. plan check has statuses of its own; its help names
// them.
//
// The command only puts together what server, sync and calc offer. No rule of the trade is decided
// here.
package main
