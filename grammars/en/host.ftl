
## datafiles

host-installation-has-no-name = the installation has no { $name }
host-install-bayvoice-again = install bayvoice again
host-perhaps-near-is-meant = perhaps "{ $near }" is meant
host-give-file-or-one-of-shipped = give a file, or one of { $shipped }
host-no-such-procedure = there is no such procedure
host-no-such-file = there is no such file
host-check-path = check the path
host-no-grammars-in-language = there are no grammars in "{ $language }"
host-choose-one-of-known = choose one of { $known }
host-file-is-not-utf-8 = the file is not UTF-8
host-save-as-utf-8 = save it as UTF-8
host-file-cannot-be-read-why = the file cannot be read ({ $why })
host-is-folder = this is a folder
host-name-procedure-file-in = name a procedure file in it
host-is-no-plain-file = this is no plain file
host-save-procedure-in-file = save the procedure in a file
host-file-is-not-there = the file is not there
host-check-path-or-link-leads = check the path, or the link that leads to it
host-file-may-not-be-read = the file may not be read
host-ask-for-right-to-read = ask for the right to read it
host-file-is-longer-than-2 = the file is longer than 2 MB
host-give-file-of-one-procedure = give the file of one procedure
host-byte-is-not-utf-8 = byte { $data } on this line is not UTF-8
