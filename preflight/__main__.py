"""``python -m preflight``, and the console command: Ctrl-C is taken care of before anything large is imported."""

from __future__ import annotations

import os


def main() -> None:
    """Entry point of the console command; ends the process."""
    try:
        from preflight.interruption import end_when_interrupted

        end_when_interrupted()
    except KeyboardInterrupt:  # before anything was begun
        os.write(2, b"interrupted\n")
        os._exit(130)
    from preflight.cli.main import main as command

    command()


if __name__ == "__main__":
    main()
