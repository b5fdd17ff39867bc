## live

voice-check-cable-and-sound-settings = check the cable and the sound settings, or give --speaker off
voice-install-portaudio-debian-apt-libportaudio = install PortAudio (Debian: apt install libportaudio2), or give --speaker FILE.wav or off
voice-no-sound-can-be-played = no sound can be played: the PortAudio library is not installed
voice-loudspeaker = loudspeaker
voice-loudspeakers-cannot-be-listed-error = the loudspeakers cannot be listed ({ $error })
voice-loudspeaker-device = loudspeaker { $device }
voice-no-sound-can-be-played-error = no sound can be played ({ $error })
voice-loudspeaker-has-stopped-taking-sound = the loudspeaker has stopped taking sound

## piper

voice-install-with-pip-bayvoice-demo = install it with: pip install 'bayvoice[demo]'
voice-voice-piper-is-not-installed = the voice 'piper' is not installed ({ $error })
voice-voice = voice
voice-voice-file-cannot-be-used = the voice file cannot be used ({ $reason })
voice-voice-has-been-closed = the voice has been closed
voice-voice-cannot-say-name = the voice cannot say this ({ $name })
voice-word-otherwise = word it otherwise

## player

voice-sound-cannot-be-written-strerror = the sound cannot be written there ({ $strerror })
voice-choose-another-file-for-speaker = choose another file for --speaker
voice-wav-holds-no-more-than-4 = a WAV holds no more than 4 GiB
voice-path-sound-is-no-longer = { $path }: the sound is no longer written ({ $value })
voice-make-room-on-disk-or-choose = make room on the disk or choose another file for --speaker

## render

voice-check-installation-of-pyttsx-3 = check the installation of pyttsx3 and espeakng_loader with 'bayvoice soundcheck'
voice-did-not-answer-in-time = it did not answer in time
voice-ended = it ended
voice-pipe-broke = its pipe broke
voice-speech-rate-of-words-minute = a speech rate of { $rate } words a minute is out of range
voice-choose-80-to-450 = choose 80 to 450
voice-volume-of-is-out-range = a volume of { $volume } is out of range
voice-choose-0-to-1 = choose 0 to 1
voice-voice-could-not-be-started = the voice could not be started ({ $strerror })
voice-choose-another-such-as-gmw = choose another, such as gmw/en, gmw/en-us or gmw/en-gb-x-rp
voice-voice-cannot-be-used-error = the voice cannot be used: { $error }
voice-voice-does-not-work-why = the voice does not work: { $why }
voice-voice-answered-without-sound = the voice answered without sound
