## baykey

record-no-public-key = this is not a bay's public key
record-give-64-hexadecimal-figures-as-printed = give the 64 hexadecimal figures as printed
record-others-may-read-bays-key = others may read the bay's key
record-take-from-them-chmod-600 = take it from them: chmod 600
record-is-not-key = it is not a key
record-bays-key-cannot-be-used = the bay's key cannot be used ({ $why })
record-look-at-file-and-rights = look at the file and its rights
record-bays-key-is-of-another = the bay's key is of another kind
record-move-away-new-one-is-made = move it away; a new one is made on the next use
record-bays-key-is-not-one = the bay's key is not the one it began with
record-put-old-key-back-or-move = put the old key back, or move { $path } away too; what the old key signed then needs audit --key

## chain

record-fact-of-job-why = fact { $seq } of job { $job }: { $why }
record-fact-cannot-be-written-as-json = a fact cannot be written as JSON ({ $error })
record-record = record
record-report-as-fault-of-bayvoice = report this as a fault of bayvoice
record-computers-clock-gives-no-usable = the computer's clock gives no usable date
record-set-clock-and-try-again = set the clock and try again
record-is-missing-record-goes-on-with-seq = it is missing, the record goes on with { $seq }
record-does-not-follow-fact-before = it does not follow the fact before it, which was changed or exchanged
record-cannot-be-read-any-more = it cannot be read any more
record-content-is-not-what-was = its content is not what was sealed when it was written

## merkle

record-no-head-of-a-record = this is not a head of a record
record-give-as-was-printed-1234 = give it as it was printed, 1234:5dc9…

## sounds

record-sound-of-note-cannot-be-kept = the sound of the note cannot be kept ({ $strerror })
record-make-room-or-look-at-rights = make room or look at the rights

## backup

record-file-is-there-already = this file is there already
record-name-new-file = name a new file
record-copy-cannot-be-written-why = the copy cannot be written ({ $why })
record-name-another-file = name another file
record-record-here-already = there is a record here already
record-move-away-first-or-give = move it away first, or give another --store
record-copy-does-not-hold-found = the copy does not hold: { $found }
record-run-audit-of-record-itself = run the audit of the record itself

## joblock

record-another-sitting = another sitting is at this job{ $more }
record-sitting-by = {" "}by { $said }
record-sitting-since = {" "}since { $said }
record-sitting-process = {" "}(process { $said })
record-job-cannot-be-reserved-for-sitting = the job cannot be reserved for this sitting ({ $strerror })
record-look-at-rights-of-folder = look at the rights of the folder, or give another --store
record-job = job { $job }
record-end-sitting-or-begin-another = end that sitting, or begin another job

## outfile

record-no-writing-over-record = this is the record or a file that belongs to it, and nothing is written over it
record-no-writing-over-sounds = this is in the folder of the record's sounds, and nothing is written over it
record-no-writing-over-key = this is the bay's key, and nothing is written over it
record-no-writing-over-read = this is a file that is read here, and nothing is written over it
record-no-writing-over-database = this is a database, perhaps another record, and nothing is written over it
record-no-writing-over-procedure = this is a procedure, and nothing is written over it
record-no-writing-over-beside-database = this is a file that belongs to a database, and nothing is written over it
record-name-another-file-for-option = name another file for { $option }
record-is-folder = it is a folder
record-file-cannot-be-written-strerror = the file cannot be written ({ $strerror })
record-name-another-option = name another { $option }

## people

record-somebody = somebody
record-badge = badge { $badge }
record-person = person { $person }

## recordfile

record-is-not-job-record = this is not a job record
record-give-another-store-or-move = give another --store, or move the file away
record-record-is-damaged = the record is damaged
record-keep-file-as-is-and-go = keep the file as it is and go on in another --store
record-record-cannot-be-opened = the record cannot be opened
record-look-at-rights-of-file = look at the rights of the file and its folder
record-record-may-not-be-opened = the record may not be opened
record-record-cannot-be-written-to = the record cannot be written to
record-another-program-holds-record = another program holds the record
record-close-and-try-again = close it there and try again
record-disk-is-full-nothing-more = the disk is full, nothing more was kept
record-make-room-and-try-again = make room and try again
record-disk-did-not-take-or-give = the disk did not take or give the record
record-look-at-disk-and-free = look at the disk and its free room
record-record-was-opened-for-reading = the record was opened for reading only
record-open-for-writing = open it for writing
record-name-cannot-hold-zero-byte = a name cannot hold a zero byte
record-is-not-file = this is not a file
record-give-name-of-file-as-store = give the name of a file as --store
record-no-job-record-here = there is no job record here
record-begin-job-or-give-another = begin a job, or give another --store
record-record-cannot-be-opened-why = the record cannot be opened ({ $why })
record-give-another-store = give another --store
record-no-job-record-in-file = there is no job record in this file
record-another-programs-database = this is another program's database
record-record-has-format-version-bayvoice = the record has format { $version }, this bayvoice knows up to { $format }
record-update-bayvoice = update bayvoice
record-disk-cannot-hold-record-safely = the disk cannot hold a record safely
record-give-store-on-local-disk = give a --store on a local disk
record-record-does-not-work = the record does not work ({ $error })
record-run-audit = run the audit

## retention

record-sounds-and-names-cannot-be-kept = sounds and names cannot be kept for less than a day
record-give-days-as-1-or-more = give the days as 1 or more
record-sound-of-note-cannot-be-removed = the sound of a note cannot be removed ({ $strerror })
record-look-at-rights-of-its-folder = look at the rights of its folder

## roster

record-fact-why = fact { $seq }: { $why }
record-code-is-four-to-twelve = a code is four to twelve figures
record-code = code
record-choose-another-one = choose another one
record-name-is-not-as-written = fact { $seq }: the name kept for { $who } is not the one it was written with
record-name-of-somebody-is-gone = fact { $seq }: the name of somebody in it is gone
record-people-of-bay-are-not-as-they = the people of this bay are not as they were written ({ $why })
record-run-bayvoice-audit-and-go = run bayvoice audit, and go back to a copy that holds
record-facts-were-taken-out-of-record = facts were taken out of this record, so who may sign here is not known
record-people-of-path-were-taken = The people of { $path } were taken into the record ({ $names }); that file is not read any more.
record-nobody-of-name = there is nobody of that name
record-see-bayvoice-people = see bayvoice people
record-name-holds-sign-cannot-be-written = a name holds a sign that cannot be written
record-people = people
record-use-letters-figures-and-blanks = use letters, figures and blanks
record-name-role-or-badge-is-longer = a name, role or badge is longer than { $longest_name } signs
record-write-shorter = write it shorter
record-names-nobody = this names nobody
record-give-name = give a name
record-name-is-too-like-close = this name is too like { $close }, who is kept here
record-give-both-in-full = give both in full
record-people-were-changed-just-now = the people were changed just now
record-look-at-them-and-try = look at them and try again
record-nobody-who-may-has-allowed = nobody who may has allowed this
record-give-code-of-foreman = give the code of a foreman
record-people-file-cannot-be-read = the people of the bay cannot be read ({ $strerror })
record-look-at-rights = look at its rights
record-people-cannot-be-read = the people of the bay cannot be read ({ $error })
record-mend-line = mend that line
record-person-is-not-list-of-tables = person is not a list of tables
record-person-has-no-name = a person has no name
record-no-key-of-a-person = "{ $key }" of { $person } is not one of { $keys }, each a text
record-mend-file-or-remove-and-add = mend the file, or remove it and add everyone again

## sealing

record-job-is-still-open = the job is still open
record-finish-first-or-sign-off = finish it first, or sign it off
record-job-does-not-hold-fact = the job does not hold: fact { $seq }: { $why }
record-job-was-added-to-just = the job was added to just now
record-seal-again = seal it again
record-signature-does-not-fit-what = the signature does not fit what was signed
record-signature-was-made-for-something = the signature was made for something else
record-other-facts-were-signed = { $signed } facts were signed and { $here } are here
record-facts-are-not-those-were = the facts are not those that were signed

## store

record-fact-seq-was-to-be-kept = fact { $seq } was to be kept, but fact { $last } comes next
record-take-job-up-again = take the job up again
record-last-fact-of-job-is-damaged = the last fact of job { $job } is damaged
record-go-on-in-another-store = go on in another --store
record-fact-of-job-cannot-be-read = fact { $count } of job { $job } cannot be read
record-run-audit-of-job = run the audit of this job
record-file-is-damaged = the file is damaged ({ $split })
record-wrote-facts-were-written-into = { $wrote } facts were written into this file and { $count } are here
record-job-is-sealed-nothing-more = the job is sealed, nothing more can be added
record-begin-another-job = begin another job
record-no-job-can-have-name = no job can have this name
record-give-another-job = give another --job
record-jobs-name-must-have-1 = a job's name must have 1 to 200 printable characters
