"""Opens a report in headless Chromium, by the W3C's WebDriver protocol, and uses it as a reader would.

report_page.py REPORT.html FOLDER   pictures and the PDF go to FOLDER; prints a line a check; exit 1 if one fails.
"""

import base64
import json
import pathlib
import subprocess
import sys
import time
import urllib.error
import urllib.request


class Browser:
    def __init__(self, folder):
        self.driver = subprocess.Popen(["chromedriver", "--port=0"], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        port = None
        for line in self.driver.stdout:
            if "successfully on port" in line:
                port = int(line.rsplit("port", 1)[1].strip(" .\n"))
                break
        self.base = f"http://127.0.0.1:{port}"
        options = {
            "args": ["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", f"--user-data-dir={folder}/profile"],
        }
        wanted = {"goog:chromeOptions": options, "goog:loggingPrefs": {"browser": "ALL"}}
        session = self.call("POST", "/session", {"capabilities": {"alwaysMatch": wanted}})
        self.base += f"/session/{session['sessionId']}"

    def call(self, method, path, body=None):
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.base + path, data=data, method=method, headers={"Content-Type": "application/json"})
        try:
            with urllib.request.urlopen(request, timeout=60) as answer:
                return json.load(answer)["value"]
        except urllib.error.HTTPError as error:
            raise RuntimeError(error.read().decode()[:500]) from error

    def js(self, script, *arguments):
        return self.call("POST", "/execute/sync", {"script": script, "args": list(arguments)})

    def size(self, width, height):
        command = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        self.call("POST", "/goog/cdp/execute", {"cmd": "Emulation.setDeviceMetricsOverride", "params": command})
        time.sleep(0.5)

    def keys(self, *keys):
        actions = [{"type": kind, "value": key} for key in keys for kind in ("keyDown", "keyUp")]
        self.call("POST", "/actions", {"actions": [{"type": "key", "id": "keyboard", "actions": actions}]})

    def hover(self, x, y):
        move = {"type": "pointerMove", "duration": 0, "x": int(x), "y": int(y), "origin": "viewport"}
        self.call("POST", "/actions", {"actions": [{"type": "pointer", "id": "mouse", "parameters": {"pointerType": "mouse"}, "actions": [move]}]})
        time.sleep(0.3)

    def picture(self, file):
        file.write_bytes(base64.b64decode(self.call("GET", "/screenshot")))

    def close(self):
        try:
            self.call("DELETE", "")
        finally:
            self.driver.terminate()
            self.driver.wait()


def main():
    report, folder = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    failed = []

    def check(what, holds, found=""):
        print(f"{'ok  ' if holds else 'FAIL'} {what}{'' if holds else f': {found}'}", flush=True)
        if not holds:
            failed.append(what)

    browser = Browser(folder)
    try:
        browser.size(1280, 900)
        browser.call("POST", "/url", {"url": report.as_uri()})
        check("opens from disk", browser.js("return location.protocol") == "file:")
        asked = browser.js("return performance.getEntriesByType('resource').map((r) => r.name).filter((n) => !n.startsWith('data:'))")
        check("asks for nothing beyond its own file", asked == [], asked)
        check("verdict comes first", browser.js("return document.querySelector('main').children[1].id") == "verdict")

        def column(table, i):
            return browser.js(f"return [...document.querySelectorAll('#{table} tbody tr')].map((r) => r.cells[{i}].textContent)")

        def press(table, i):
            browser.js(f"document.querySelectorAll('#{table} thead button')[{i}].click()")

        press("takes", 5)
        first = column("takes", 5)
        press("takes", 5)
        second = column("takes", 5)
        numbers = [float(text) for text in first if text != "–"]
        check("a heading sorts", numbers in (sorted(numbers), sorted(numbers, reverse=True)) and len(set(first)) > 1, first)
        check("pressed again it sorts the other way", second == first[::-1], second)

        everything = len(column("takes", 0))
        browser.js("const f = document.getElementById('find'); f.value = 'planner'; f.dispatchEvent(new Event('input'))")
        found = column("takes", 1)
        check("the filter leaves what it names", 0 < len(found) < everything and set(found) == {"planner"}, found)
        browser.js("const f = document.getElementById('find'); f.value = 'no such take'; f.dispatchEvent(new Event('input'))")
        check("and nothing where nothing is meant", column("takes", 1) == [])
        browser.js("const f = document.getElementById('find'); f.value = ''; f.dispatchEvent(new Event('input'))")

        x, y = browser.js(
            "const c = Chart.getChart('scatter'); c.canvas.scrollIntoView({block: 'center'}); const p = c.getDatasetMeta(0).data[0];"
            "const box = c.canvas.getBoundingClientRect(); return [box.left + p.x, box.top + p.y]")
        browser.hover(x, y)
        tip = browser.js("const t = Chart.getChart('scatter').tooltip; return [t.opacity, ...t.body.map((b) => b.lines.join(' '))].join(' ')")
        check("hovering over a point tells which take it is", len(tip) > 10 and not tip.startswith("0"), tip)

        shown = browser.js("return data.shown.filter((take) => take.replay).length")
        if shown:
            check("a take is shown closely", browser.js("return document.querySelectorAll('#course canvas').length") == 3)
            ink = "return document.getElementById('replay').toDataURL()"
            still = browser.js(ink)
            browser.js("setMoment(40)")
            check("the replay's moment can be chosen", browser.js(ink) != still and browser.js("return document.getElementById('clock').textContent") == "8.0 s")
            moved = browser.js(ink)
            browser.js("document.getElementById('replay').focus()")
            browser.keys("\ue014")  # right arrow
            check("the view turns by keys", browser.js(ink) != moved)
            browser.js("document.getElementById('play').click()")
            time.sleep(1.5)
            check("it plays", browser.js("return replayView.frame") > 41)
            browser.js("document.getElementById('play').click()")

        browser.js("document.activeElement.blur(); window.scrollTo(0, 0)")
        reached = set()
        for _ in range(80):
            browser.keys("\ue004")  # tab
            reached.add(browser.js("const a = document.activeElement; return a.id || a.textContent"))
        wanted = browser.js("return [...document.querySelectorAll('button, select, input')].filter((e) => e.offsetParent).map((e) => e.id || e.textContent)")
        check("everything can be reached by the keyboard", set(wanted) <= reached, sorted(set(wanted) - reached))

        browser.js("window.scrollTo(0, 0)")
        browser.picture(folder / "wide.png")
        browser.size(390, 844)
        overflow = browser.js(
            "return [...document.querySelectorAll('main *')].filter((e) => !e.closest('.scroll') && e.getBoundingClientRect().right > 391)"
            ".map((e) => e.tagName + '#' + e.id)")
        check("nothing sticks out of a phone's width", browser.js("return document.documentElement.scrollWidth") <= 390 and overflow == [], overflow)
        least = browser.js("return Math.min(...[...document.querySelectorAll('p, li, td, th, label, code')].filter((e) => e.offsetParent)"
                           ".map((e) => parseFloat(getComputedStyle(e).fontSize)))")
        check("no text is under 12 px there", least >= 12, least)
        browser.picture(folder / "narrow.png")
        browser.size(1280, 900)
        pdf = base64.b64decode(browser.call("POST", "/print", {"background": True}))
        (folder / "report.pdf").write_bytes(pdf)
        check("prints to PDF", pdf.startswith(b"%PDF") and len(pdf) > 20000, len(pdf))
        errors = [entry["message"] for entry in browser.call("POST", "/se/log", {"type": "browser"}) if entry["level"] in ("SEVERE", "WARNING")]
        check("the console has no error", errors == [], errors)
    finally:
        browser.close()
    return 1 if failed else 0


sys.exit(main())
