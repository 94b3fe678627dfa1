"""One plain look for report, workbook and printed pages."""

STYLE = """
body { font-family: Georgia, 'DejaVu Serif', serif; color: #111; background: #fff; max-width: 62rem; margin: 2rem auto;
       padding: 0 1rem; line-height: 1.45; }
h1 { font-size: 1.7rem; margin-bottom: .2rem; }
h2 { font-size: 1.2rem; margin-top: 2rem; border-bottom: 1px solid #999; }
.lead { font-size: 1.05rem; }
table { border-collapse: collapse; font-size: .85rem; margin: .6rem 0; }
caption { text-align: left; font-style: italic; padding-bottom: .3rem; }
th, td { border-bottom: 1px solid #ccc; padding: .25rem .6rem; text-align: left; vertical-align: top; }
thead th { border-bottom: 2px solid #444; }
td { white-space: nowrap; } .wide td { white-space: normal; } dt { font-weight: bold; } dd { margin: 0 0 .3rem 1.5rem; }
figure { margin: 1rem 0; break-inside: avoid; } figure img { max-width: 100%; height: auto; }
figcaption { font-size: .9rem; color: #333; max-width: 48rem; }
.cautions { border-left: 4px solid #D55E00; padding: .6rem .6rem .6rem 1.8rem; background: #fdf6f0; }
.small { font-size: .8rem; color: #444; overflow-wrap: anywhere; }
@media print { body { margin: 0; max-width: none; } h2 { break-after: avoid; } tr { break-inside: avoid; } }
"""

PANEL_STYLE = """<style>
.aerolib-panel .widget-html-content { line-height: 1.4; }
.aerolib-panel table { border-collapse: collapse; font-size: 13px; }
.aerolib-panel th, .aerolib-panel td { border-bottom: 1px solid #ccc; padding: 3px 8px; text-align: left; }
.aerolib-panel .cautions { border-left: 4px solid #D55E00; padding: 6px 6px 6px 26px; background: #fdf6f0;
  color: #111; }
.aerolib-error pre { color: #8a2c00; background: #fdf0e8; border-left: 4px solid #D55E00; padding: 8px; margin: 4px 0;
  white-space: pre-wrap; font-family: inherit; }
.aerolib-stale { opacity: .35; }
.aerolib-panel.jupyter-widgets-disconnected { opacity: .4; }
.aerolib-panel.jupyter-widgets-disconnected::before { content: 'restarted: Run > Run All Cells'; position: sticky;
  top: 4px; z-index: 9; display: block; width: max-content; background: #D55E00; color: #fff; padding: 4px 10px; }
</style>"""
