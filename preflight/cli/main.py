"""``preflight``: the group of commands, and the one place where an exception becomes an exit status."""

from __future__ import annotations

import gc
import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import Literal

import click

from preflight import __version__
from preflight.cli.streams import OUTPUT, OUTPUT_UNWRITTEN, make_lasting
from preflight.errors import TRACEBACK_VARIABLE, ExitStatus, PreflightError

FILE = click.Path(exists=False, path_type=Path)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, message="%(prog)s %(version)s")
def cli() -> None:
    """Check folding-carton artwork and press set-up before plates are made.

    \b
    Exit status: 0 pass or warn, 1 fail, 2 wrong usage, 3 the artwork cannot be read,
    4 a press, ticket or rules file is wrong, 5 an internal error,
    6 a report could not be written, 130 interrupted.
    """


@cli.command()
@click.argument("subjects", type=FILE, metavar="TICKET.yaml|ARTWORK.pdf|FOLDER|-...", nargs=-1, required=True)
@click.option("--press", type=FILE, help="Press profile (YAML); wins over the ticket's.")
@click.option("--ticket", type=FILE, help="Job ticket (YAML), where the artwork is named first.")
@click.option(
    "--report",
    "reports",
    multiple=True,
    metavar="FILE|FOLDER/",
    help="Write a report, .html or .json; of a folder both, named after the artwork or ticket. "
    "May be given several times; - is JSON on standard output.",
)
@click.option(
    "--customer-report",
    type=FILE,
    metavar="FILE.html",
    help="Write the customer edition of the report page: only what the customer has to change or answer.",
)
@click.option(
    "--rules",
    "rules",
    type=FILE,
    multiple=True,
    help="Rule file or folder laid over the shipped rules. May be given several times.",
)
@click.option("--warnings-fail", is_flag=True, help="Exit with 1 on a warn too.")
@click.option("-q", "--quiet", is_flag=True, help="Print only the verdict, the counts and where the reports are.")
@click.option("--no-cache", is_flag=True, help="Neither keep plates for the next run nor use kept ones.")
@click.option("--guarded", is_flag=True, help="Check in a child process with limits on memory and time.")
def check(
    subjects: tuple[Path, ...],
    press: Path | None,
    ticket: Path | None,
    reports: tuple[str, ...],
    customer_report: Path | None,
    rules: tuple[Path, ...],
    warnings_fail: bool,
    quiet: bool,
    no_cache: bool,
    guarded: bool,
) -> int:
    """Check a job: will this artwork run on this press?

    Several files, or a folder (its tickets, those of folders in it, and PDFs that no ticket names), get one line
    each. - is a PDF from standard input, with --press or --ticket.

    \b
    preflight check ticket.yaml --report report.html
    preflight check carton.pdf --press press.yaml --ticket ticket.yaml
    preflight check jobs/ --press press.yaml --report reports/
    """
    from preflight.cli.check_command import run_check
    from preflight.cli.check_options import CheckOptions

    options = CheckOptions(
        press=press,
        ticket=ticket,
        reports=reports,
        customer_report=customer_report,
        rules=rules,
        warnings_fail=warnings_fail,
        cache=not no_cache,
        guarded=guarded,
        quiet=quiet,
    )
    return run_check(subjects, options)


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
@click.argument("ticket", type=FILE, metavar="TICKET.yaml", required=False)
@click.option("--out", type=FILE, help="Folder; TICKET.yaml-setup by default. With --learn a file.")
@click.option("--press", type=FILE, help="Press profile (YAML); wins over the ticket's.")
@click.option(
    "--after",
    type=FILE,
    metavar="LAST_TICKET.yaml|STATE.yaml",
    help="What is on the press now: the ticket of the last job, or a file with on_press.",
)
@click.option("--rules", "rules", type=FILE, multiple=True, help="Rule file or folder laid over the shipped rules.")
@click.option("--paper", type=click.Choice(["a4", "a3"]), default="a4", show_default=True, help="Of the set-up sheet.")
@click.option("--no-cache", is_flag=True, help="Neither keep plates for the next run nor use kept ones.")
@click.option(
    "--learn",
    type=FILE,
    metavar="OK_SHEETS.csv",
    help="In place of a ticket: learn how far ink keys open from signed sheets, and write key_curves.yaml.",
)
def setup(
    ticket: Path | None,
    out: Path | None,
    press: Path | None,
    after: Path | None,
    rules: tuple[Path, ...],
    paper: Literal["a4", "a3"],
    no_cache: bool,
    learn: Path | None,
) -> int:
    """Plan a job on its press: unit order, lamps, change, run. Writes the set-up sheet into a folder.

    \b
    preflight setup ticket.yaml --after last-job.yaml --paper a3
    preflight setup --learn ok-sheets.csv --out key_curves.yaml
    """
    if (ticket is None) == (learn is None):
        raise click.UsageError("Give a ticket, or a table of OK sheets with --learn.")
    if learn is not None:
        from preflight.cli.learn_command import run_learn

        return run_learn(learn, out)
    assert ticket is not None
    if out is not None and out.is_file():
        raise click.BadParameter(f"Directory '{out}' is a file.", param_hint="'--out'")
    from preflight.cli.setup_command import SetupOptions, run_setup

    options = SetupOptions(out=out, press=press, after=after, rules=rules, paper=paper, cache=not no_cache)
    return run_setup(ticket, options)


@cli.command()
@click.argument("ticket", type=FILE, metavar="TICKET.yaml")
@click.argument("profiles", type=FILE, metavar="PRESS.yaml...", nargs=-1, required=True)
@click.option(
    "--report",
    "reports",
    multiple=True,
    metavar="FILE",
    help="Write it, .html or .json; - is JSON on standard output. May be given several times.",
)
@click.option("--rules", "rules", type=FILE, multiple=True, help="Rule file or folder laid over the shipped rules.")
@click.option("--no-cache", is_flag=True, help="Neither keep plates for the next run nor use kept ones.")
def presses(
    ticket: Path, profiles: tuple[Path, ...], reports: tuple[str, ...], rules: tuple[Path, ...], no_cache: bool
) -> int:
    """Compare presses for a job: which fits, and what each would take. Exit status 1 where none fits.

    \b
    preflight presses ticket.yaml presses/*.yaml --report presses.html
    """
    from preflight.cli.presses_command import run_presses

    return run_presses(ticket, profiles, reports, rules, cache=not no_cache)


@cli.command()
@click.argument("old", type=FILE, metavar="OLD.pdf")
@click.argument("new", type=FILE, metavar="NEW.pdf")
@click.option("--ticket", type=FILE, help="Job ticket (YAML): kinds of separations, the die, which plates change.")
@click.option(
    "--as",
    "as_",
    type=click.Choice(["revision", "sheet"]),
    help="Two states of one artwork, or a one-up and its sheet; told by the dies where it is not given.",
)
@click.option(
    "--version",
    "versions",
    type=FILE,
    multiple=True,
    metavar="FILE",
    help="Another version or an old revision of the one-up, to know blanks of a sheet by. May be given several times.",
)
@click.option(
    "--report",
    "reports",
    multiple=True,
    metavar="FILE",
    help="Write it: .html with pictures, .pdf to sign, .json (- on standard output). May be given several times.",
)
@click.option("-q", "--quiet", is_flag=True, help="Print only the outcome and where the reports are.")
@click.option("--no-cache", is_flag=True, help="Neither keep plates for the next run nor use kept ones.")
def compare(
    old: Path,
    new: Path,
    ticket: Path | None,
    as_: Literal["revision", "sheet"] | None,
    versions: tuple[Path, ...],
    reports: tuple[str, ...],
    quiet: bool,
    no_cache: bool,
) -> int:
    """Compare two files plate by plate: which plates changed, and which can stay. Exit status 1 where one changes.

    \b
    preflight compare carton-a.pdf carton-b.pdf --ticket ticket.yaml
    preflight compare carton.pdf sheet.pdf --as sheet --version carton-old.pdf
    """
    from preflight.cli.compare_command import CompareOptions, run_compare

    options = CompareOptions(
        ticket=ticket, as_=as_, versions=versions, reports=reports, cache=not no_cache, quiet=quiet
    )
    return run_compare(old, new, options)


@cli.command()
@click.argument("rule", required=False)
@click.option("--rules", "files", type=FILE, multiple=True, help="Rule file or folder laid over the shipped rules.")
@click.option("--coverage", is_flag=True, help="Show what answers each row of the catalogue of checks.")
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
def rules(rule: str | None, files: tuple[Path, ...], coverage: bool, as_json: bool) -> int:
    """List the rules, show all of one rule, or show which checks the rules cover.

    \b
    preflight rules
    preflight rules bleed-short
    preflight rules --coverage
    """
    from preflight.cli.rules_command import run_coverage, run_rules

    if not coverage:
        return run_rules(rule, files, as_json=as_json)
    if rule is not None:
        raise click.UsageError("--coverage goes without a rule")
    return run_coverage(files, as_json=as_json)


@cli.command()
@click.argument(
    "what",
    type=click.Choice(["press", "ticket", "rules", "checks", "report", "setup", "presses", "compare"]),
    required=False,
)
@click.option("--write", "folder", type=FILE, metavar="FOLDER", help="Write all of them into a folder.")
def schema(what: str | None, folder: Path | None) -> int:
    """Print the JSON Schema of what people write (for editors) or of what the commands write.

    \b
    preflight schema press > press.schema.json
    preflight schema --write jobs/
    """
    if (what is None) == (folder is None):
        raise click.UsageError("give a kind of file to print its schema, or --write FOLDER to write all of them")
    from preflight.cli.schema_command import run_schema, write_schemas

    return run_schema(what) if what is not None else write_schemas(folder or Path())


@cli.group()
def new() -> None:
    """Write a job ticket or a press profile to fill in."""


@new.command("ticket")
@click.argument("artwork", type=FILE, metavar="ARTWORK.pdf")
@click.option("--press", type=FILE, help="Press profile (YAML) that the job is to run on.")
@click.option("--out", type=FILE, metavar="FILE", help="The ticket; to standard output where it is not given.")
def new_ticket(artwork: Path, press: Path | None, out: Path | None) -> int:
    """Write a job ticket for some artwork: its separations, die lines and areas, and what is still to be said.

    \b
    preflight new ticket carton.pdf --press press.yaml --out ticket.yaml
    """
    from preflight.cli.new_command import run_new_ticket

    return run_new_ticket(artwork, press, out)


@new.command("press")
@click.option("--out", type=FILE, metavar="FILE", help="The profile; to standard output where it is not given.")
def new_press(out: Path | None) -> int:
    """Write a press profile with every key explained, for the figures of your own press.

    \b
    preflight new press --out press.yaml
    """
    from preflight.cli.new_command import run_new_press

    return run_new_press(out)


def main() -> None:
    """Run the command line of this process, and end it."""
    from preflight.interruption import end_when_interrupted  # loaded by the console command long before

    end_when_interrupted()
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
