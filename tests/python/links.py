"""Checks every link between the pages of a folder, with the place in the page that it leads to.

Usage: links.py FOLDER. Prints the broken links and the number of all. The network is not used.
"""

import sys
from pathlib import Path
from urllib.parse import unquote, urlsplit

import lxml.html


def main(folder):
    paths = sorted(folder.rglob("*.html"))
    pages = {path: lxml.html.parse(str(path)).getroot() for path in paths}
    places = {path: set(page.xpath("//@id")) for path, page in pages.items()}
    count, broken = 0, []
    for path, page in pages.items():
        for element, attribute, link, _ in page.iterlinks():
            address = urlsplit(link)
            if address.scheme or address.netloc:
                continue
            count += 1
            target = (path.parent / unquote(address.path)).resolve() if address.path else path
            place = unquote(address.fragment)
            if not target.is_file():
                broken.append(f"{path}: {element.tag} {attribute}: no file {link}")
            elif place and target in places and place not in places[target]:
                broken.append(f"{path}: {element.tag} {attribute}: no place {link}")
    print(*broken, f"{count} links, {len(broken)} broken", sep="\n")
    return 1 if broken or not pages else 0


sys.exit(main(Path(sys.argv[1]).resolve()))
