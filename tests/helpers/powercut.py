"""What a disk holds after a power cut: of each file what was forced to it last, under the names that its folder had
when that was forced last. All else is dropped, however little of it a real disk would lose.
"""

import os
import stat
from pathlib import Path

import pytest


class PowerCut:
    """Notes what is forced to the disk while it is in use (a `with` statement)."""

    def __init__(self, root: Path):
        """root: a folder whose name was safe before."""
        self.root = root
        self._bytes: dict[int, bytes] = {}
        self._names: dict[int, dict[str, tuple[int, bool]]] = {}
        self._patch = pytest.MonkeyPatch()

    def __enter__(self) -> "PowerCut":
        real = os.fsync

        def fsync(file) -> None:
            number = file if isinstance(file, int) else file.fileno()
            real(number)
            found = os.fstat(number)
            itself = f"/proc/self/fd/{number}"
            if stat.S_ISDIR(found.st_mode):
                with os.scandir(itself) as inside:
                    self._names[found.st_ino] = {
                        each.name: (each.inode(), each.is_dir(follow_symlinks=False)) for each in inside
                    }
            else:
                self._bytes[found.st_ino] = Path(itself).read_bytes()

        self._patch.setattr(os, "fsync", fsync)
        return self

    def __exit__(self, *_: object) -> None:
        self._patch.undo()

    def survived(self) -> dict[str, bytes]:
        """Files by their paths below the root, and what is in them."""
        return dict(self._below(self.root.stat().st_ino, ""))

    def _below(self, folder: int, path: str):
        for name, (number, is_folder) in self._names.get(folder, {}).items():
            if is_folder:
                yield from self._below(number, f"{path}{name}/")
            else:
                yield f"{path}{name}", self._bytes.get(number, b"")


def there(root: Path) -> dict[str, bytes]:
    """What can be seen now, but for what may be lost: drafts, locks and the index."""
    return {
        str(path.relative_to(root)): path.read_bytes()
        for path in sorted(root.rglob("*"))
        if path.is_file() and not path.name.startswith((".", "shop.sqlite"))
        and not any(part.startswith(".") for part in path.relative_to(root).parts)
    }  # fmt: skip
