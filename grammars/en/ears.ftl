## baynoise

ears-bay-with-talk = { $level_db } dB of full scale and somebody talks; use --address { $mode }
ears-bay-without-talk = { $level_db } dB of full scale and nobody talks; use --address { $mode }
ears-microphone-gives-no-sound = the microphone gives no sound
ears-check-switch-and-plug = check its switch and plug
ears-bay-is-too-loud-to-hear = the bay is too loud to hear in ({ $level_db } dB of full scale)
ears-bring-microphone-closer-to-mouth = bring the microphone closer to the mouth and turn it down, or work with the keys

## capture

ears-install-portaudio-debian-libportaudio-2 = install PortAudio (Debian: libportaudio2), or use a recording with --mic FILE.wav
ears-plug-microphone-in-and-try = plug a microphone in and try again, or use a recording with --mic FILE.wav
ears-no-sound-has-come-from-microphone = no sound has come from the microphone for { $silent_s } s
ears-check-plug-and-switch = check its plug and switch
ears-no-microphone = there is no microphone
ears-unknown-reason = unknown reason
ears-microphone-cannot-be-opened-reason = the microphone cannot be opened ({ $reason })
ears-live-sound-does-not-work = live sound does not work, PortAudio is not installed
ears-live-sound-does-not-work-fault = live sound does not work ({ $fault })

## choose

ears-without-pronunciation = { $recogniser } has no pronunciation for { $named }: phrases with them cannot be heard.
ears-many-without-pronunciation = { $recogniser } has no pronunciation for { $named } and { $more } more: phrases with them cannot be heard.
ears-no-recogniser-works = no recogniser works here: { $notices }
ears-no-recogniser-kind = there is no recogniser "{ $kind }"
ears-use-kinds = use { $kinds }
ears-kind-is-not-used-fault = { $kind } is not used: { $fault }
ears-install-bayvoice-again-or-work = install bayvoice again, or work with typed words
ears-speech-network-cannot-be-loaded = the speech network cannot be loaded ({ $fault })
ears-install-bayvoice-again = install bayvoice again
ears-pronunciations-cannot-be-read-fault = the pronunciations cannot be read ({ $fault })

## front

ears-voice-activity-detection-cannot-be-loaded = voice activity detection cannot be loaded ({ $fault })
ears-install-bayvoice-again-with-dependencies = install bayvoice again with its dependencies

## likeness

ears-choose-another-word-with-address = choose another word with --address-word
ears-nobody-knows-how-address-word = nobody knows how the address word "{ $word }" is pronounced
ears-address-word-is-itself-said = the address word "{ $word }" is itself said in the job
ears-address-word-sounds-too-much = the address word "{ $word }" sounds too much like "{ $found }" of the job

## listener


## person

ears-not-clear-enough-to-act = not clear enough to act on
ears-no-persons-name = this is not a person's name
ears-give-name-with-letters-such = give a name with letters, such as Imre
ears-name-has-count-characters = the name has { $count } characters
ears-give-one-of-at-most = give one of at most { $longest_name }
ears-what-was-learned-cannot-be-kept = what was learned cannot be kept ({ $strerror })
ears-make-room-or-give-yourself = make room, or give yourself the right
ears-file-cannot-be-removed-strerror = the file cannot be removed ({ $strerror })
ears-remove-yourself = remove it yourself
ears-what-was-learned-of-name = What was learned of { $name } cannot be read ({ $strerror }), and is not used.
ears-what-was-learned-of-name-is-damaged = What was learned of { $name } is damaged, and is not used: teach again.
ears-what-was-learned-of-name-is-another = What was learned of { $name } is of another version of the ears, and is not used: teach again.

## phones

ears-heard-as-something-else-without = heard as something else without the noise before it
ears-too-short-to-be-speech = too short to be speech
ears-no-words-in = no words in it
ears-sounds-more-like-said-which = sounds more like "{ $said }", which means nothing here
ears-too-much-like-something-else = too much like something else that can be said
ears-sounds-more-like-words-mean = sounds more like words that mean nothing here

## pronounce

ears-not-valid-toml-error = not valid TOML ({ $error })
ears-mend-line-names = mend the line it names
ears-use-39-phones-of-cmu = use the 39 phones of the CMU dictionary without stress, such as TH AW
ears-pronunciation-of-word-names-unknown = the pronunciation of "{ $word }" names an unknown phone { $wrong }

## soundwatch

ears-trouble-noise = It is too loud to hear you
ears-use-keys-or-come-closer = Use the keys, or come closer to the microphone
ears-trouble-clipping = The microphone is overdriven and cannot hear you
ears-turn-level-down = Turn its level down
ears-trouble-microphone = The microphone gives no sound
ears-check-switch-and-plug-or-use = Check its switch and plug, or use the keys

## sphinx_engine

ears-pocketsphinx-cannot-be-loaded-fault = PocketSphinx cannot be loaded ({ $fault })

## vosk_engine

ears-no-vosk-model = there is no Vosk model
ears-name-folder-in-bayvoice-vosk = name its folder in BAYVOICE_VOSK_MODEL
ears-vosk-cannot-be-loaded-fault = Vosk cannot be loaded ({ $fault })
ears-vosk-model-knows-no-phrase = the Vosk model knows no phrase of this step
ears-use-model-of-language = use a model of the language
ears-other-words-were-heard = other words were heard

## vosk_model

ears-unpack-small-vosk-model-again = unpack a small Vosk model again, or unset { $variable }
ears-vosk-model-is-not-there = the Vosk model is not there
ears-correct-variable-or-unset = correct { $variable } or unset it
ears-many-vosk-models = { $count } Vosk models are there
ears-keep-one-or-name-in-variable = keep one, or name one in { $variable }
ears-vosk-model-takes-no-phrase = this Vosk model takes no phrase lists
ears-use-one-of-small-models = use one of the small models
ears-vosk-model-is-not-whole = the Vosk model is not whole, { $name } is missing or empty
ears-vosk-model-cannot-be-loaded = the Vosk model cannot be loaded

## wavefile

ears-wav-file-has-no-sound = the WAV file has no sound in it
ears-save-as-wav-file-with-16 = save it as a WAV file with 16-bit PCM samples
ears-recording-cannot-be-read-strerror = the recording cannot be read ({ $strerror })
ears-check-path = check the path
ears-recording-cannot-be-read-on-strerror = the recording cannot be read on ({ $strerror })
ears-check-disk = check the disk
ears-recording-is-empty = the recording is empty
ears-record-again = record it again
ears-is-not-wav-file = this is not a WAV file
ears-wav-file-has-no-description = the WAV file has no description of its samples
ears-kind-tag = kind { $tag }
ears-samples-of-kind-are-not-supported = samples of this kind are not supported: { $kind }
ears-samples-of-bits-in-align = samples of { $bits } bits in { $align } bytes are not supported
ears-channels-at-rate-hz-are-not-sound = { $channels } channels at { $rate } Hz are not sound
ears-record-again-at-16-khz = record it again at 16 kHz or more
