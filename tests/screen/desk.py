"""A screen with a job behind it but without sound, store and hub: run in a real terminal by test_terminal.py."""

from __future__ import annotations

from bayvoice.screen.app import BayScreen
from tests.screen.walk import walk_to


def main() -> None:
    """Show the job at the drain pan until somebody leaves."""
    walk = walk_to("pan")
    app = BayScreen(
        lambda words: app.show(walk.type(words)), lambda: app.close(), lambda on: on.show(walk.state), lambda: walk.mono
    )
    app.run()


if __name__ == "__main__":
    main()
