"""Every relative link in README.md, DEVELOPERS.md and docs/ leads to a file that is there, and its heading too.

Usage: links.py [ROOT]. Lists broken links and exits 1 if there are any, or if there is nothing to look at.
"""

import re
import sys
from pathlib import Path
from urllib.parse import unquote

ROOT = Path(__file__).resolve().parent.parent.parent
# Inline links and pictures, and link definitions. Code is taken out first.
LINK = re.compile(
    r"!?\[(?:[^\]\[]|\[[^\]]*\])*\]\(\s*<?([^)\s>]+)>?(?:\s+\"[^\"]*\")?\s*\)|^\[[^\]]+\]:\s+(\S+)",
    re.MULTILINE,
)
CODE = re.compile(r"^(```|~~~).*?^\1|`[^`\n]*`", re.MULTILINE | re.DOTALL)


def anchors(text: str) -> set[str]:
    """Anchors of the headings: lower case, punctuation dropped, spaces as hyphens."""
    headings = re.findall(
        r"^#{1,6}\s+(.+?)\s*#*$",
        re.sub(r"^```.*?^```", "", text, flags=re.MULTILINE | re.DOTALL),
        re.MULTILINE,
    )
    return {re.sub(r"[^\w\- ]", "", h.lower()).replace(" ", "-") for h in headings}


def main() -> int:
    root = Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else ROOT
    pages = [root / "README.md", root / "DEVELOPERS.md", *sorted((root / "docs").rglob("*.md"))]
    pages += sorted((root / "tests").rglob("*.md"))
    broken, links = [], 0
    for page in pages:
        if not page.is_file():
            broken.append(f"{page.relative_to(root)} is missing")
            continue
        text = page.read_text(encoding="utf-8")
        for match in LINK.finditer(CODE.sub("", text)):
            link = match[1] or match[2]
            if re.match(r"[a-z][a-z0-9+.-]*:", link):
                continue
            links += 1
            path, _, anchor = link.partition("#")
            place = (page.parent / unquote(path)).resolve() if path else page
            if not place.is_relative_to(root) or not place.exists():
                broken.append(f"{page.relative_to(root)}: no file for `{link}`")
            elif (
                anchor and place.suffix == ".md" and anchor not in anchors(place.read_text(encoding="utf-8"))
            ):
                broken.append(f"{page.relative_to(root)}: no heading for `{link}`")
    print("\n".join([*broken, f"{len(pages)} pages, {links} links, {len(broken)} broken"]))
    return 1 if broken or links == 0 else 0


if __name__ == "__main__":
    sys.exit(main())
