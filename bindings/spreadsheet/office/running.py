"""An office that runs and is spoken to: documents opened in it, cells changed, recalculations timed."""

import contextlib
import os
import subprocess
import time

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.connection import NoConnectException


def value(name, one):
    """A named value, as the office takes its options."""
    made = PropertyValue()
    made.Name, made.Value = name, one
    return made


class Running:
    def __init__(self, context):
        self.context = context
        self.desktop = self.create("com.sun.star.frame.Desktop")

    def create(self, service):
        return self.context.ServiceManager.createInstanceWithContext(service, self.context)

    @contextlib.contextmanager
    def document(self, path):
        opened = self.desktop.loadComponentFromURL(path.as_uri(), "_blank", 0, (value("Hidden", True),))
        try:
            yield opened
        finally:
            opened.close(True)

    def functions(self):
        """{name as typed: (help, [(argument, its help)])} of the function wizard."""
        listed = {}
        for i in range(len(descriptions := self.create("com.sun.star.sheet.FunctionDescriptions"))):
            one = {entry.Name: entry.Value for entry in descriptions[i]}
            listed[one["Name"]] = (one["Description"], [(a.Name, a.Description) for a in one["Arguments"] or ()])
        return listed


def _connected(pipe, process, seconds=60):
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    until = time.monotonic() + seconds
    while True:
        try:
            return resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        except NoConnectException:
            if process.poll() is not None or time.monotonic() > until:
                raise RuntimeError("the office did not answer") from None
            time.sleep(0.1)


@contextlib.contextmanager
def running(office, *options):
    """Without a screen unless options say otherwise."""
    pipe = f"cells{os.getpid()}"
    process = subprocess.Popen([office.soffice, *(options or ["--headless"]), "--norestore", f"--accept=pipe,name={pipe};urp;", *office.places],
                               stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        yield (it := Running(_connected(pipe, process)))
        with contextlib.suppress(Exception):  # it goes away while it answers
            it.desktop.terminate()
        process.wait(60)
    finally:
        if process.poll() is None:
            process.terminate()
