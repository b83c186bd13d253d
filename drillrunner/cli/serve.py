"""`drillrunner serve`: the app for phones, through a browser."""

from __future__ import annotations

import argparse
from pathlib import Path

from drillrunner.catalogue import places
from drillrunner.cli.options import FINE, Wrong, database, plugin_folders
from drillrunner.cli.terminal import put, say

MOST = 500
LONGEST_KEEP = 24 * 60


def arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--port", type=_port, default=8000, help="the port (8000)")
    parser.add_argument(
        "--on", metavar="ADDRESS", help="listen here too: 0.0.0.0 is everywhere (127.0.0.1)"
    )
    parser.add_argument(
        "--most", metavar="N", type=_most, default=40, help="phones that may play at once (40)"
    )
    way_in = parser.add_mutually_exclusive_group()
    way_in.add_argument("--open", action="store_true", help="whoever reaches it may come in")
    way_in.add_argument(
        "--pin", metavar="PIN", help="6 digits or more to come in (else DRILLRUNNER_PIN)"
    )
    parser.add_argument(
        "--keep",
        metavar="MINUTES",
        type=_keep,
        default=10.0,
        help="how long the app of a phone that went away waits for it (10)",
    )
    parser.add_argument(
        "--certificate", metavar="FILE", type=Path, help="encrypt with this (PEM), and --key"
    )
    parser.add_argument("--key", metavar="FILE", type=Path, help="the key of the certificate")
    parser.add_argument(
        "--private", action="store_true", help="nobody is listed: name and PIN are typed"
    )


def run(args: argparse.Namespace) -> int:
    """Serve until it is ended. Raises Wrong, StoreError."""
    try:
        from drillrunner.serve.run import HOME, CannotServe, ToServe, serve
    except ModuleNotFoundError as error:
        raise Wrong(f"{error.name} is missing: pip install 'drillrunner[serve]'") from None
    from drillrunner.serve.pins import bad_pin
    from drillrunner.serve.settings import BadSettings, unlisted
    from drillrunner.store.store import Store

    if (args.certificate is None) != (args.key is None):
        raise Wrong("--certificate and --key: expected both or none")
    try:
        told = unlisted(places.config_dir())
    except BadSettings as error:
        raise Wrong(str(error)) from None
    pin = None if args.open else args.pin or told.get("pin")
    if pin is not None and (why := bad_pin(pin)):
        raise Wrong(f"--pin: {why}")
    where = args.db or told.get("db") or database(args)
    on = args.on or HOME
    here = on in (HOME, "localhost", "::1")
    if not here and args.certificate is None:
        say("drillrunner: not encrypted: for a network that you trust; else --certificate, --key")
    wanted = ToServe(
        database=where,
        folders=plugin_folders(args),
        on=on,
        port=args.port,
        most=args.most,
        keep=args.keep * 60,
        open=args.open or (here and pin is None),
        pin=pin,
        certificate=args.certificate,
        key=args.key,
        private=args.private,
    )
    try:
        # What is wrong with the records is said here, before anybody comes.
        with Store.open(where) as store:
            serve(wanted, store, _shown, _told)
    except CannotServe as error:
        raise Wrong(str(error)) from None
    return FINE


def _shown(text: str) -> None:
    put(text)
    from drillrunner.cli.terminal import flush

    flush()


def _told(line: str) -> None:
    say(f"drillrunner: {line}")


def _number(value: str, least: float, most: float, what: str) -> float:
    try:
        number = float(value)
    except ValueError:
        number = least - 1
    if not least <= number <= most:
        raise argparse.ArgumentTypeError(f"{value}: expected {what}, {least:g} to {most:g}")
    return number


def _whole(value: str, least: int, most: int, what: str) -> int:
    if not (value.isascii() and value.isdigit()):
        raise argparse.ArgumentTypeError(f"{value}: expected {what}, {least} to {most}")
    return int(_number(value, least, most, what))


def _port(value: str) -> int:
    return _whole(value, 0, 65535, "a port")


def _most(value: str) -> int:
    return _whole(value, 1, MOST, "a number of phones")


def _keep(value: str) -> float:
    return _number(value, 0, LONGEST_KEEP, "minutes")
