"""The compiled part was built before, for this Python and this machine: the wheel is for these alone."""

from setuptools import Distribution, setup


class Compiled(Distribution):
    def has_ext_modules(self) -> bool:
        return True


setup(distclass=Compiled)
