"""Write what is made from other files: the rule index, the schemas, the tables of the README.

Run with ``make shared``; with ``--check`` it only says (exit status 1) what is out of date. A test
does the same.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
KIND_ORDER = ("transition", "meaning", "punctuation", "grammar")


def rule_index() -> list[dict[str, str]]:
    """Every rule that a clue can name: id, kind, title and source."""
    words = [json.loads(p.read_text("utf-8")) for p in (ROOT / "shared" / "rules").glob("*.json")]
    words.sort(key=lambda w: (KIND_ORDER.index(w["kind"]), w["id"]))
    return [{name: w[name] for name in ("id", "kind", "title", "source")} for w in words]


def schemas() -> dict[str, Any]:
    """JSON Schemas of the contract's objects, from the code's own models."""
    from pydantic import TypeAdapter

    from rwtools.clue import Clue
    from rwtools.drills.model import Report
    from rwtools.items.model import Item, Solution

    made: dict[str, Any] = {"clue": Clue, "item": Item, "report": Report, "solution": Solution}
    found = {}
    for name, model in made.items():
        schema = TypeAdapter(model).json_schema(
            mode="serialization" if name != "item" else "validation"
        )
        found[name] = {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
    hints = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Hints",
        "description": "The clues of one passage: `hint --json`, or a line of `hint --batch`.",
        "type": "object",
        "required": ["id", "clues"],
        "properties": {
            "id": {"type": ["string", "integer"]},
            "clues": {"type": "array", "items": {"$ref": "#/$defs/Clue"}},
        },
        "$defs": {
            **found["clue"].get("$defs", {}),
            "Clue": {k: v for k, v in found["clue"].items() if k not in ("$defs", "$schema")},
        },
    }
    return {**found, "hints": hints}


def openapi() -> dict[str, Any]:
    """The API's description, as the server gives it at /openapi.json."""
    from rwtools.api.app import create_app

    return create_app().openapi()


def rule_table() -> str:
    """The README's table of rules."""
    lines = ["| rule | kind | what it is |", "|---|---|---|"]
    lines += [f"| `{r['id']}` | {r['kind']} | {r['title']} |" for r in rule_index()]
    return "\n".join(lines)


def command_table() -> str:
    """The README's table of commands, from the command line's own help."""
    import typer

    from rwtools.cli import app

    lines = ["| command | does |", "|---|---|"]
    group: Any = typer.main.get_command(app)
    for name, command in sorted(group.commands.items()):
        named = [p for p in command.params if p.param_type_name == "argument"]
        shown = [(p, p.metavar or p.name.upper()) for p in named]
        arguments = " ".join(text if p.required else f"[{text}]" for p, text in shown)
        needed = [p for p in command.params if p.param_type_name == "option" and p.required]
        arguments += "".join(f" {p.opts[0]} {p.metavar}" for p in needed)
        text = (command.help or "").strip().splitlines()[0]
        lines.append(f"| `rwtools {' '.join([name, arguments]).strip()}` | {text} |")
    return "\n".join(lines)


def session() -> str:
    """The demo's real output, as a terminal of 88 columns without colour shows it."""
    command = ["rwtools", "hint", "corpus/passages/tide-mill.txt"]
    done = subprocess.run(
        [sys.executable, "-m", *command],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "NO_COLOR": "1", "COLUMNS": "88"},
    )
    lines = [line.rstrip() for line in done.stdout.strip("\n").splitlines()]
    return "\n".join(["```", f"$ {' '.join(command)}", "", *lines, "```"])


def between(text: str, name: str, content: str) -> str:
    """The text with what stands between two marks replaced."""
    start, end = f"<!-- {name} -->", f"<!-- /{name} -->"
    before, _, rest = text.partition(start)
    _, _, after = rest.partition(end)
    if not rest or (not after and end not in text):
        raise SystemExit(f"README.md lacks the marks {start} ... {end}")
    return f"{before}{start}\n{content}\n{end}{after}"


def outputs() -> dict[Path, str]:
    """Every made file and what it should hold."""
    made = {ROOT / "shared" / "rules.json": rule_index()}
    made |= {ROOT / "shared" / "schemas" / f"{n}.json": s for n, s in schemas().items()}
    made[ROOT / "shared" / "openapi.json"] = openapi()
    texts = {p: json.dumps(d, indent=2, ensure_ascii=False) + "\n" for p, d in made.items()}
    readme = (ROOT / "README.md").read_text("utf-8")
    readme = between(readme, "session", session())
    readme = between(readme, "commands", command_table())
    texts[ROOT / "README.md"] = between(readme, "rules", rule_table())
    return texts


def main() -> int:
    """Write or check."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", action="store_true")
    check = parser.parse_args().check
    stale = [p for p, text in outputs().items() if not p.exists() or p.read_text("utf-8") != text]
    for path in stale:
        print(f"{'out of date' if check else 'written'}: {path.relative_to(ROOT)}")
        if not check:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(outputs()[path], "utf-8")
    return int(check and bool(stale))


if __name__ == "__main__":
    sys.exit(main())
