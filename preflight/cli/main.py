"""``preflight``: the group of commands, and the one place where an exception becomes an exit status."""

from __future__ import annotations

import gc
import os
import sys
from contextlib import suppress
from pathlib import Path

import click

from preflight.cli.streams import OUTPUT, OUTPUT_UNWRITTEN, make_lasting
from preflight.errors import TRACEBACK_VARIABLE, ExitStatus, PreflightError

FILE = click.Path(exists=False, path_type=Path)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="preflight", message="%(prog)s %(version)s")
def cli() -> None:
    """Check folding-carton artwork and press set-up before plates are made.

    \b
    Exit status: 0 pass or warn, 1 fail, 2 wrong usage, 3 the artwork cannot be read,
    4 a press, ticket or rules file is wrong, 5 an internal error,
    6 a report could not be written, 130 interrupted.
    """


@cli.command()
@click.argument("subject", type=FILE, metavar="TICKET.yaml|ARTWORK.pdf")
@click.option("--press", type=FILE, help="Press profile (YAML); wins over the ticket's.")
@click.option("--ticket", type=FILE, help="Job ticket (YAML), where the artwork is named first.")
@click.option(
    "--report",
    "reports",
    multiple=True,
    metavar="FILE",
    help="Write a report, .html or .json. May be given several times; - is JSON on standard output.",
)
@click.option(
    "--rules",
    "rules",
    type=FILE,
    multiple=True,
    help="Rule file or folder laid over the shipped rules. May be given several times.",
)
@click.option("--warnings-fail", is_flag=True, help="Exit with 1 on a warn too.")
@click.option("--no-cache", is_flag=True, help="Neither keep plates for the next run nor use kept ones.")
@click.option("--guarded", is_flag=True, help="Check in a child process with limits on memory and time.")
def check(
    subject: Path,
    press: Path | None,
    ticket: Path | None,
    reports: tuple[str, ...],
    rules: tuple[Path, ...],
    warnings_fail: bool,
    no_cache: bool,
    guarded: bool,
) -> int:
    """Check a job: will this artwork run on this press?

    \b
    preflight check ticket.yaml --report report.html
    preflight check carton.pdf --press press.yaml --ticket ticket.yaml
    """
    from preflight.cli.check_command import run_check, run_guarded

    run = run_guarded if guarded else run_check
    return run(
        subject,
        press=press,
        ticket=ticket,
        reports=reports,
        rules=rules,
        warnings_fail=warnings_fail,
        cache=not no_cache,
    )


@cli.command()
@click.argument("artwork", type=FILE, metavar="ARTWORK.pdf")
@click.option("--out", type=click.Path(file_okay=False, path_type=Path), required=True, help="Folder for the plates.")
@click.option("--resolution", type=click.FloatRange(20, 1200), default=100, show_default=True, help="Dots per inch.")
@click.option("--page", type=click.IntRange(1), default=1, show_default=True, help="Page of the artwork.")
def plates(artwork: Path, out: Path, resolution: float, page: int) -> int:
    """Write each plate of a page as a grey PNG, white bare and black solid, and plates.json.

    \b
    preflight plates carton.pdf --out plates/
    """
    from preflight.cli.plates_command import run_plates

    return run_plates(artwork, out, resolution, page)


@cli.command()
@click.argument("rule", required=False)
@click.option("--rules", "files", type=FILE, multiple=True, help="Rule file or folder laid over the shipped rules.")
@click.option("--coverage", is_flag=True, help="Show what answers each row of the catalogue of checks.")
@click.option("--json", "as_json", is_flag=True, help="With --coverage: print it as JSON.")
def rules(rule: str | None, files: tuple[Path, ...], coverage: bool, as_json: bool) -> int:
    """List the rules, show all of one rule, or show which checks the rules cover.

    \b
    preflight rules
    preflight rules bleed-short
    preflight rules --coverage
    """
    if coverage and rule is None:
        from preflight.cli.rules_command import run_coverage

        return run_coverage(files, as_json=as_json)
    if coverage or as_json:
        raise click.UsageError("--coverage goes without a rule, and --json with --coverage")
    from preflight.cli.rules_command import run_rules

    return run_rules(rule, files)


@cli.command()
@click.argument("what", type=click.Choice(["press", "ticket", "rules", "checks", "report"]))
def schema(what: str) -> int:
    """Print the JSON Schema of a press, a ticket, a rule file, the catalogue of checks or the report, for editors.

    \b
    preflight schema press > press.schema.json
    """
    from preflight.cli.schema_command import run_schema

    return run_schema(what)


def main() -> None:
    """Entry point of the console command."""
    # A run makes millions of small objects and few cycles: looking for those ten times as often costs a tenth of it.
    gc.set_threshold(100_000, 50, 100)
    make_lasting()
    status = run(sys.argv[1:])
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError):
            stream.flush()
    # Nothing waits to be put away, and handing back every object one by one takes a fifth of a second.
    os._exit(status)


def run(arguments: list[str]) -> int:
    """Run a command line; returns the exit status and never raises."""
    try:
        status = int(cli.main(arguments, prog_name="preflight", standalone_mode=False) or 0)
        sys.stdout.flush()
        return status
    except click.ClickException as wrong:
        wrong.show()
        return int(ExitStatus.WRONG_USAGE)
    except (click.Abort, KeyboardInterrupt):
        click.echo("interrupted", err=True)
        return int(ExitStatus.INTERRUPTED)
    except PreflightError as error:
        click.echo(f"{error}\n{error.advice}", err=True)
        return int(error.exit_status)
    except OSError as error:
        if error.filename == OUTPUT:
            click.echo(OUTPUT_UNWRITTEN.format(error.strerror), err=True)
            return int(ExitStatus.REPORT_NOT_WRITTEN)
        click.echo(f"{error.filename or ''}: {error.strerror or error}", err=True)
        return int(ExitStatus.WRONG_USAGE)
    except Exception as fault:
        if os.environ.get(TRACEBACK_VARIABLE):
            sys.excepthook(type(fault), fault, fault.__traceback__)
        click.echo(f"{type(fault).__name__}: {fault}\n{PreflightError.advice}", err=True)
        return int(ExitStatus.OWN_FAULT)


if __name__ == "__main__":
    main()
