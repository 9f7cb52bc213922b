// Command gaugewright is the whole program: the server, the hub, the calculations on the command
// line, the checks of programmes and of data folders, backups, the import of a register, and
// accounts.
//
// Each file is one subcommand or a few that belong together. main.go has the table of subcommands.
// A subcommand has its own flags; -h prints them. serve and demo share the options of
// server/config.
//
// Exit status 0 means done, 1 that it could not be done, 2 that the options or the document were
// wrong; the message is then already written. plan check has exit statuses of its own, which its
// help names.
//
// The command only puts together what server, sync and calc offer. It decides no rule of the trade.
package main
