"""How a wheel is built: the procedures at the top of the clone come along inside the package."""

from pathlib import Path

from setuptools.command.build_py import build_py

ROOT = Path(__file__).resolve().parent.parent


class WithExamples(build_py):
    """Copies `procedures/*.yaml` to `companion/examples/`; an editable install reads them where they lie."""

    def run(self) -> None:
        super().run()
        if not self.editable_mode:
            for source, target in self._examples():
                self.mkpath(str(target.parent))
                self.copy_file(str(source), str(target))

    def get_outputs(self, include_bytecode: bool = True) -> list[str]:
        return [*super().get_outputs(include_bytecode), *(str(target) for _, target in self._examples())]

    def get_source_files(self) -> list[str]:
        """For the source archive, which must hold them too."""
        return [*super().get_source_files(), *(f"procedures/{source.name}" for source, _ in self._examples())]

    def _examples(self) -> list[tuple[Path, Path]]:
        folder = Path(self.build_lib) / "companion" / "examples"
        return [(source, folder / source.name) for source in sorted((ROOT / "procedures").glob("*.yaml"))]
