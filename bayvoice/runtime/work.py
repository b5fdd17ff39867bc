"""`bayvoice work`: a job is chosen where none was named, then worked, beside a screen or with a line an event."""

from __future__ import annotations

import sys

from bayvoice.dialogue.engine.events import Left
from bayvoice.ears.tape import Tape
from bayvoice.runtime.chooser import choose_job
from bayvoice.runtime.intake import Hands, Keyboard
from bayvoice.runtime.onscreen import job_on_screen
from bayvoice.runtime.options import Look, Options
from bayvoice.runtime.tape import Onward, Recording
from bayvoice.runtime.wiring import lay_out, open_sitting
from bayvoice.screen.lines import Lines


def work(options: Options, screen: Look | None, as_json: bool) -> int:
    """The whole command; the exit status. `screen`: None for one line an event."""
    lines, keyboard = Lines(as_json), Keyboard()

    def typing(hands: Hands) -> None:
        if not options.hears or sys.stdin.isatty():
            keyboard.serve(hands)

    recording: Recording | None = None
    if not options.procedure:
        recording = Onward(Tape(options.mic)) if options.on_tape else None
        chosen = choose_job(options, screen, recording, typing, lines.notice)
        if chosen is None:
            return 0
        options = chosen
    if screen:
        job_on_screen(lay_out(options, recording), screen).run()
        return 0
    sitting = open_sitting(options, lines.watch, recording)
    try:
        for notice in sitting.notices:
            lines.notice(notice)
        if not sitting.live:
            sitting.run()
            return 0
        typing(sitting.hands)
        try:
            sitting.run(deaf_is_fatal=not sys.stdin.isatty())
        except KeyboardInterrupt:
            sitting.hub.take(Left(sitting.hub.clock.now(), "interrupted"))
            return 130
        return 0
    finally:
        sitting.close()
