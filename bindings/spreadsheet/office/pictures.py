"""Takes the pictures of the installation guide, from a Calc that runs in a window of its own.

    pictures.py BUTTONWORTH.oxt FOLDER [SOFFICE]

Wanted besides LibreOffice with its window (libreoffice-calc and libreoffice-gtk3, of which SOFFICE is the program) and
python3-uno: Xvfb, openbox, xdotool, ImageMagick. No test needs it; look at the pictures after they are made.
"""

import contextlib
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import threading
import time

from office import Office, place
from running import running

GUIDE = pathlib.Path(__file__).resolve().parent.parent / "GUIDE.md"
HIDDEN = ("standardbar", "formatobjectbar")
COLOURS = "128"


def plan_of_the_guide():
    """The rows of its plan: pointer, value, unit."""
    block = re.search(r"```\n(/format\t.*?)```", GUIDE.read_text(encoding="utf-8"), re.DOTALL)[1]
    return [(line.split("\t") + ["", ""])[:3] for line in block.splitlines()]


def put(sheet, row, column, content):
    """As typed: a number, a formula or a text."""
    sheet.getCellByPosition(column, row).setFormula(content)


@contextlib.contextmanager
def screen(width, height):
    """A screen that nobody sees, with a manager of windows."""
    read, write = os.pipe()
    server = subprocess.Popen(["Xvfb", "-displayfd", str(write), "-screen", "0", f"{width}x{height}x24"], pass_fds=[write],
                              stderr=subprocess.DEVNULL)
    os.close(write)
    os.environ["DISPLAY"] = ":" + os.read(read, 20).decode().strip()
    manager = subprocess.Popen(["openbox"], stderr=subprocess.DEVNULL)
    try:
        yield
    finally:
        manager.terminate()
        server.terminate()


def shown(title):
    return subprocess.run(["xdotool", "search", "--onlyvisible", "--name", title], stdout=subprocess.PIPE, text=True).stdout.split()


def window(title, seconds=30):
    """The window of that title, once it is there."""
    until = time.monotonic() + seconds
    while not shown(title):
        if time.monotonic() > until:
            raise RuntimeError(f"no window {title} was shown")
        time.sleep(0.3)
    time.sleep(2)  # until it is drawn
    return shown(title)[-1]


def press_last_button(number):
    """The one in the lower right corner, which closes a dialogue."""
    said = subprocess.run(["xdotool", "getwindowgeometry", "--shell", number], check=True, stdout=subprocess.PIPE, text=True).stdout
    size = dict(line.split("=") for line in said.split())
    subprocess.run(["xdotool", "mousemove", "--window", number, str(int(size["WIDTH"]) - 50), str(int(size["HEIGHT"]) - 25), "click", "1"], check=True)
    time.sleep(2)


class Camera:
    """An empty sheet at a time, and pictures of what stands on the screen."""

    def __init__(self, calc, folder):
        self.calc, self.folder = calc, folder
        self.helper = calc.create("com.sun.star.frame.DispatchHelper")

    def new_sheet(self, width, height):
        self.document = self.calc.desktop.loadComponentFromURL("private:factory/scalc", "_default", 0, ())
        self.frame = self.document.CurrentController.Frame
        for name in HIDDEN:
            self.frame.LayoutManager.hideElement(f"private:resource/toolbar/{name}")
        self.frame.ContainerWindow.setPosSize(10, 30, width, height, 15)
        self.do(".uno:SidebarDeck.PropertyDeck")
        self.do(".uno:Sidebar")
        return self.document.Sheets[0]

    def close_sheet(self):
        self.document.close(True)

    def select(self, name):
        self.document.CurrentController.select(self.document.CurrentController.ActiveSheet.getCellRangeByName(name))

    def do(self, command):
        self.helper.executeDispatch(self.frame, command, "", 0, ())

    def take(self, name, wanted):
        path = self.folder / f"{name}.png"
        subprocess.run(["import", "-window", wanted, "+dither", "-colors", COLOURS, "-strip", str(path)], check=True)

    def take_dialogue(self, name, command, title):
        """Of a dialogue, which is closed again by its last button. Some let what opens them go on, some do not."""
        opened = threading.Thread(target=self.do, args=(command,), daemon=True)
        opened.start()
        self.take(name, window(title))
        for number in shown(title):
            press_last_button(number)
        opened.join(20)


def extension_manager(camera):
    camera.new_sheet(700, 400)
    camera.take_dialogue("extension-manager", "service:com.sun.star.deployment.ui.PackageManagerDialog", "^Extension Manager|^Extensions")
    camera.close_sheet()


def function_wizard(camera):
    sheet = camera.new_sheet(900, 420)
    for row, (words, number) in enumerate((("tin with wet sand, g", 110), ("the same, dried, g", 98), ("empty tin, g", 10))):
        put(sheet, row, 0, words)
        sheet.getCellByPosition(1, row).Value = number
    put(sheet, 3, 0, "moisture")
    put(sheet, 3, 1, "=BW_MOISTURE(B1;B2;B3)")
    sheet.Columns[0].Width = 4500
    camera.select("B4")
    camera.take_dialogue("function-wizard", ".uno:FunctionDialog", "^Function Wizard")
    camera.close_sheet()


def plan_sheet(camera, width, height):
    sheet = camera.new_sheet(width, height)
    for row, cells in enumerate(plan_of_the_guide()):
        for column, content in enumerate(cells):
            put(sheet, row, column, content)
    for column, mm in enumerate((72, 38, 20, 6)):
        sheet.Columns[column].Width = mm * 100
    return sheet, len(plan_of_the_guide())


def plan_and_routes(camera):
    sheet, rows = plan_sheet(camera, 1240, 560)
    plan = f"A1:C{rows}"
    put(sheet, 0, 4, f"=BW_BEST_ROUTE({plan})")
    sheet.getCellRangeByPosition(4, 2, 8, 4).setArrayFormula(f"=BW_ROUTES({plan})")
    for column, mm in ((4, 46), (5, 24), (6, 24), (7, 24), (8, 28)):
        sheet.Columns[column].Width = mm * 100
    sheet.getCellRangeByName("F4:I5").NumberFormat = camera.document.NumberFormats.addNew("#,##0.0", camera.document.CharLocale)
    camera.select("E3:I5")
    camera.take("plan-and-routes", window("LibreOffice Calc"))
    camera.close_sheet()


def error_explained(camera):
    sheet, rows = plan_sheet(camera, 1240, 300)
    put(sheet, 4, 2, "oz")
    sheet.getCellByPosition(2, 4).CellBackColor = 0xFFF1D6
    put(sheet, 0, 4, f"=BW_BEST_ROUTE(A1:C{rows})")
    put(sheet, 1, 4, f'=BW_EXPLAIN("BW_BEST_ROUTE";A1:C{rows})')
    camera.select(place(1, 4))
    camera.take("error-explained", window("LibreOffice Calc"))
    camera.close_sheet()


def main():
    package, folder = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    soffice = sys.argv[3] if len(sys.argv) > 3 else "soffice"
    folder.mkdir(parents=True, exist_ok=True)
    os.unsetenv("URE_BOOTSTRAP")  # the uno module sets it, and an office elsewhere would look in the wrong folder
    with tempfile.TemporaryDirectory() as held, screen(1400, 900):
        office = Office(pathlib.Path(held) / "office", [package], soffice)
        with running(office, "--nologo", "--nofirststartwizard") as calc:
            camera = Camera(calc, folder)
            for picture in (extension_manager, function_wizard, plan_and_routes, error_explained):
                picture(camera)


if __name__ == "__main__":
    main()
