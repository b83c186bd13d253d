"""The help texts: one for each screen, in plain words. The keys are added from the bindings."""

from __future__ import annotations

from drillrunner.app.keys import in_words

LISTS = (
    "In every list 8 and 2 move up and down, 9 and 3 a page, 7 and 1 to the ends; Enter opens the "
    "row and / goes back. The arrows and the mouse do the same. The key . opens a menu of "
    "everything that can be done."
)

CARE = (
    "drillrunner gives practice a structure. It gives no medical advice and no technical swing "
    "advice. The rules of your range and its staff come first: stay in your bay, look before you "
    "swing, never go forward of the line for a ball or a tee, and stop if something hurts. "
    "Ask a physician or a physiotherapist about what hurts, and a teaching professional about your "
    "swing."
)

WRITTEN: dict[str, str] = {
    "home": (
        "The drills, by club. Each shows your best, and under it how it is set, what it takes and "
        "your last scores. After a moment it says how hard it is for you now: the chance to beat "
        "your best or, before there is one, what half of players with an index of 20 reach; "
        "under one in ten is hard, over six in ten easy. Enter plays it, - plays it with friends. "
        "Drills of a retired club stand below. A run or a match that was left "
        "open stands at the top: Enter goes on with it. A line at the bottom says when the drill "
        "under the cursor is plainly too easy or too hard for you, and what would fit "
        "better; <how_hard> opens that, <pattern> shows where your shots with its club finish. "
        "The line on top says what is next and why; <go> plays it. "
        f"<calendar> opens the calendar of practice.\n\n{LISTS}\n\n{CARE}"
    ),
    "new_player": (
        "Your name, and your handicap index and men's or women's card if you want to give them, "
        "as 18.4 women: they sharpen the first guess of where your shots finish until there are "
        "shots to go by. Enter moves on and starts. A plus index is typed with its sign: +1.2."
    ),
    "player": (
        "What is kept about this player. Enter changes a row; 4 and 6 turn a choice to the one "
        "before or after. Everything but the name may stay empty. A changed index is kept with "
        "its date, the old ones too. Hiding a player takes the name out of the lists and keeps "
        f"every shot.\n\n{LISTS}"
    ),
    "clubs": (
        "The clubs of this player: the name they go by, the usual carry, and whether they are "
        "still in the bag. Enter opens what can be changed. A retired club keeps its shots. "
        f"\n\n{LISTS}"
    ),
    "history": (
        "The runs of one drill as it was set, newest first: another width is another record. The "
        "line on top says whether it gets better, and how often luck alone would ever get that "
        "far, however often you look; the runs of one day count once, and ten days are the "
        'fewest. "No change of more than 30 %" means that a larger one is ruled out. In the '
        "chart a square is a run, a triangle a best when it was made, the line the best "
        "so far. The dashes are the trend. The small dots are luck's: where the best would "
        "stand for half of all players who make the same scores in any order; someone who "
        "improves stays under it early on. A cross had no score. 4 and 6 "
        "turn to the drill as it was set otherwise, <which> asks which runs to show "
        "(player, drill, club, dates), <beside> stands the run under the cursor beside the best, "
        "<everyone> shows everyone's. The "
        "menu (.) has the settings side by side, each club then and now, and the calendar. Enter "
        f"opens a run to its shots.\n\n{LISTS}"
    ),
    "which_runs": (
        "Which runs are shown. Enter on a row asks for one of all that were played, of a drill or "
        "with a club; days can be typed too. All of mine shows every run of yours again."
    ),
    "compare": (
        "Two runs of one drill as it was set, ball by ball: what each ball did, and the score "
        "after it. Only balls that count are shown. 4 and 6 stand it beside another run, <which> "
        f"beside the best of the others.\n\n{LISTS}"
    ),
    "settings_beside": (
        "One drill as you have set it each time, the latest on top: your best, how many runs, the "
        "score that half of them reach, how often a ball holds the aim, and how likely the next "
        "run beats your best, from your shots of now. In brackets: 8 in 10 sure. Where ~ stands, "
        "the chance is an estimate. Enter opens the runs of that setting.\n\n"
        f"{LISTS}"
    ),
    "goals": (
        "What you want by a day: a handicap index, and scores on drills as they are written. Under "
        "each stands how far it is. Enter changes the number or the day; with nothing typed it is "
        "taken back. A day is typed as 1.9. (day and month, the next to come) or written out. Home "
        "names the nearest goal, and the history of a drill draws its own. Below stands the one "
        "thing that you work on, in your words or your coach's: a plan put together for you gives "
        "it a block, and without one there is no such block. What you worked on before stands "
        f"under it with its day.\n\n{LISTS}"
    ),
    "where_lost": (
        "What each kind of shot costs you a round against the level you want: your goal, else your "
        "own index. Rounds typed in full tell all of it, putts alone only the putting. The bounds "
        "hold the truth 8 times in 10. Below stands what getting better at one part is worth, by "
        "your own patterns where there are enough balls, else by a model of golfers of your "
        f"index.\n\n{LISTS}"
    ),
    "then_and_now": (
        "For each club and swing the older half of your balls (of the latest 2000) beside the "
        "newer half; within a half every ball counts alike. The chart shows "
        "where a ball is likely to finish: circles then, points now. The two are called "
        "different only if the bounds that hold 8 times in 10 do not meet. Enter opens the whole "
        f"pattern of the club.\n\n{LISTS}"
    ),
    "calendar": (
        "Balls by day, a week a row, with a bar for the week where there is room: those of drills "
        "that count or are void, and those of a session's other blocks. Balls in between and "
        "undone ones are left out. A week stands under the month of its Monday. Enter opens the "
        f"runs of a day; <everyone> shows everyone's.\n\n{LISTS}"
    ),
    "holes": (
        "For each hole of a course the strokes to expect from the tee with each club that has a "
        "pattern of yours, aimed at the middle and at the best line, L or R of it in yards. The "
        "picture shows the landing area from above, what lies beside it and where the club "
        "finishes, aimed at that line. <next> turns to another hole, <go> to another club, <which> "
        "to another course. It follows from what was typed of the hole; less than 0.05 strokes is "
        "no difference, and the choice is yours."
    ),
    "pattern": (
        "Where your shots with one club and swing finish, from every drill, the latest ones "
        "counting most. A dot is a ball that you gave a number; a stroke is as long as the zone "
        "that you saw it in. Two in three of your shots finish between the two lines, which stand "
        "as far to either side of your own centre. Brackets hold the true figure 8 times in 10. "
        f"{'≈'} marks a width at which no ball was ever judged: it follows from the shape of the "
        "pattern alone. On the right stands how likely you would be to beat your best in a drill "
        "if its corridor were so wide; played so, it would be a record of its own. 4 or 6 turns "
        "to short and long and back, <go> to the next drill, <which> to another club; 8 and 2 "
        "scroll."
    ),
    "green": (
        "How you hole out from one lie, learnt from every ball of every drill from there as one "
        "curve over length: how likely it is holed in one (from off the green, in two), and how "
        "many strokes it takes on average. Brackets hold the true figure 8 times in 10. Beside it "
        "stands what a player of your goal does, else of your index, by the model of expected "
        "strokes; on the right what you typed from about that length. 4 and 6 turn to another "
        "lie; 8 and 2 scroll."
    ),
    "tuning": (
        "How hard a drill is for you, and how it would be set for the chance that you want: choose "
        "the chance and the score to beat, 4 and 6 turn them, Enter types a score. The last row "
        "shows the setting at which your chance is nearest to that, worked out from your own "
        "shots; Enter "
        "plays the drill so. Another setting is another record. The drill itself is never changed. "
        "No single chance is known to be the best one to practise at: half is a start."
        f"\n\n{LISTS}"
    ),
    "make_drill": (
        "A drill of your own, made from another one: every row is a field of it. 4 and 6 turn a "
        "row, Enter types a value; each is checked at once, as a file would be. <gap> takes the "
        "width of a gap of your range, <width> the width that was worked out last. Another club, "
        "aim or setting counts as another drill, with records of its own. It is written into your "
        "own folder; what you change or take away is kept beside it, in the folder aside."
        f"\n\n{LISTS}"
    ),
    "make_range": (
        "Your range, so that a drill can be played through a gap of it at its own width. A gap is "
        "two things with a width between them; two marks with bearings make one as well. Take the "
        "distances and widths from a plan, from the staff, or with a rangefinder from the bay: "
        "never walk out to measure. 4 and 6 turn a row, Enter types a value or does what stands "
        "there; <width> takes the width that was worked out last into the gap under the cursor."
        f"\n\n{LISTS}"
    ),
    "rounds": (
        "Your rounds on the course, newest first; one that was left open is gone on with. <go> "
        "starts a new one: it is typed after it was played, hole by hole. Enter opens a card, to "
        "read or to correct it. <index> shows your handicap index, worked out from these rounds; "
        f"the one that your club keeps is the one that counts.\n\n{LISTS}"
    ),
    "round_setup": (
        "Which course, from which tees, on which day, and how much of it you type. Every shot that "
        "counts tells where your strokes go; putts only tells of your putting; score only feeds "
        "your index. Nine holes wait for nine others: the two make one score. The round keeps the "
        f"course as it is now, so that it reads the same for ever.\n\n{LISTS}"
    ),
    "round_play": (
        "The block is the hole seen from where you hit. Tee shot: 5 fairway, 4 and 6 beside it, "
        "1 and 3 in the trees, 2 short, 0 a penalty: then 1 for one stroke and a drop, 2 for "
        "stroke and distance; + before the key turns to another club than the usual one. Then how "
        "far it was to the green, and Enter; - before it says that it was a stroke earlier than "
        "usual, + a stroke later. Where it went: 5 on, 4 6 8 2 beside "
        "the green, 7 9 1 3 the corners. If it missed, what was left; / before it says sand, // "
        "short grass; Enter alone: not known, and then a weak approach looks like a weak short "
        "game. Then the first putt, the putts, and the score: Enter "
        "takes the one that is shown. * takes the last answer back, and at the first question of "
        "a hole it goes to the hole before. <which> goes to any hole. Each hole is on disk before "
        "the next is asked; Esc leaves, and the round goes on from there."
    ),
    "round_card": (
        "Each hole with what you told of it and, beside it, what was worked out from that. Enter "
        "on a hole corrects it: there Enter takes what was told before. Below: the playing "
        "conditions of that day, the differential if your club shows another one, and whether the "
        "round is in the record. One that is taken out is kept and marked; it counts nowhere."
        f"\n\n{LISTS}"
    ),
    "courses": (
        "The courses on which a round can be typed: each is a file in a folder. <go> types a new "
        f"one from its card; Enter opens one.\n\n{LISTS}"
    ),
    "course": (
        "A course as its card has it. Enter on a hole asks for par, length and stroke index in one "
        "line, as 4/372/7, and then for the next hole. Tees are typed as course rating and slope, "
        "and their name: 70.1/124 yellow. The first row keeps it in a file. A round that was typed "
        f"before keeps the course as it was.\n\n{LISTS}"
    ),
    "index": (
        "Your handicap index, worked out from your rounds by the Rules of Handicapping of The R&A "
        "and USGA, and the goal that you set. Shown are the highest differential, and from one set "
        "of tees the highest score, that bring you there with the next round, and the chance to "
        "be there within some rounds if you play as you have played. Below stand the rounds that "
        "it rests on, which of them count, and which drops out with the next one. 4 and 6 turn "
        "the tees and the number of rounds. The index that your club keeps is the one that counts."
        f"\n\n{LISTS}"
    ),
    "association": (
        "The Rules of Handicapping leave some of it to the association that you play under. As "
        "usual unless you say otherwise here: three scores make an index, course rating less par "
        "belongs to the strokes that you get on a course, and 95 % of them are played with. It is "
        "kept in a file of yours and goes for everybody on this computer. 4 and 6 turn a row, "
        f"Enter types a number.\n\n{LISTS}"
    ),
    "run": (
        "Every entry of one run in the order typed: a ball that counts has its number; one that "
        "was undone or void is marked so and does not count. Nothing is ever deleted."
    ),
    "notices": (
        "Files of drills, games, plans and ranges that can't be used, with the line, the field and "
        "what was expected. Everything else works. Enter shows a whole line. A game from outside "
        "runs only after `drillrunner allow FILE` for exactly that content."
    ),
    "dialog": (
        "One of these: 8 and 2 move, Enter takes the row, / goes back and changes nothing. The "
        "mouse does the same."
    ),
    "question": (
        "Type the answer and press Enter. Escape goes back and changes nothing; so does Enter on "
        "an unchanged answer."
    ),
    "help": "This text. 8 and 2 scroll; / goes back.",
    "play": (
        "Hit, look, type. What is asked stands above the keypad. In or out: the block is the "
        "target seen from the bay: 5 in, 4 left, 6 right, 8 long, 2 short, the corners for both, "
        "0 out without a side. A miss: a signed number and Enter, -15 is 15 left, +35 is 35 "
        "right, 0 dead on. A carry: a number and Enter. * takes the last entry back, / makes the "
        "last ball void (a cracked ball, someone walked past), . opens the menu. Every entry is "
        "on disk before you see it: leaving keeps the run open.\n\n"
        "The line under what there is to beat is the chance to beat it from here, worked out from "
        "where your own shots finish, and what the next ball does to it; … stands there while it "
        "is worked out, and ~ marks an estimate. The shading behind the target is that pattern, "
        "with the number of shots that it comes from; while there are few it is called a guess.\n\n"
        f"{CARE}"
    ),
    "result": (
        "Your score, what it means beside your best, which way this run missed and how far it "
        "spread, and every shot. Enter plays again; * takes the last entry back and / makes the "
        "last ball void: either may reopen the run. 8 and 2 move through the shots; Esc leaves. "
        "A line says what is next of all there is, and why: <what_next>, a click, or the menu (.) "
        "plays it. The menu also has your shot pattern with this club, and how hard the drill is "
        "for you."
    ),
    # matches
    "match_setup": (
        "Who plays this drill together, and how. Enter marks a player; the numbers are the order. "
        "Ball by ball everyone hits in turn; a run each is played one after the other. Equal "
        "scores are shared, or settled by a decider: a fresh run each, until a round parts them; "
        "it is never a record. In a fair fight who has the widest pattern plays the drill as "
        "written, and it is made harder or easier for the others until everyone has the same "
        "chance; you see that before it starts. All play in one unit: your own if you share one, "
        f"else the drill's. Each run counts for its player's own best.\n\n{LISTS}"
    ),
    "match_fair": (
        "What everyone plays, and their chance to win with equal scores shared. It is worked out "
        "from each one's own shots; the brackets hold the true chance 8 times in 10, and they are "
        "wide while there are few shots. Agree and it starts. Where no setting comes within four "
        "points of even, the chances shown are the true ones. Another setting is another record."
        f"\n\n{LISTS}"
    ),
    "match": (
        "The name on top is to play; type for them as in any drill. On the board a "
        "triangle marks who is to play, a star who has won, a cross who can't win any more, two "
        "bars who has left. Per cents are the chance to win as it stands; equal scores, or none at "
        "all, are shared. * takes back the latest entry of the match, whoever made it; / makes the "
        "latest ball void. The match is decided as soon as nobody else can catch up; the winner "
        "may play on for a best. Esc leaves: a match that is open waits on the home screen. "
        "<people>, or the menu: somebody joins or leaves.\n\n"
        f"{CARE}"
    ),
    "between_bays": (
        "The number by which others join, each on a screen of their own: <join> on home. It holds "
        "until the first ball. Who opened the match starts it with 5 or Enter, once two are "
        "there. Then everyone types their own balls, in turn, and every board follows within a "
        "second. ○ away marks a screen that has gone: it comes back from its home screen."
    ),
    "match_result": (
        "Who has won, and what each run came to beside its player's own best. Enter plays the "
        "same match again; * takes the latest entry back and / makes the latest ball void: either "
        "may reopen the match. 8 and 2 scroll; Esc leaves."
    ),
    "leaders": (
        "The best score of each player who said yes to that (on the player's screen, <players>, or "
        "with `drillrunner share`), on this drill as it is set, the best first; of equal scores "
        "the earlier stands first, and they share the place. It looks again every few seconds, so "
        "that a big display can stay on it: `drillrunner leaders DRILL --show`. 8 and 2 scroll."
    ),
    "standings": (
        "Matches that were decided: won, shared, and how many won one after another up to now; by "
        "drill; and head to head, which is who came out before the other however many played. A "
        "shared match ends a run of wins. A match belongs to the day on which it began. 4 and 6 "
        "turn the season, <which> takes two days; 8 and 2 scroll. Challenges from a "
        "file are left out: a file proves nothing."
    ),
    # the timed session
    "session_setup": (
        "How long you have, how many balls, and what to do with them. 4 and 6 turn the "
        "minutes, or in their row the balls; Enter types either. 8 and 2 "
        "move between a plan put together from your own history and the "
        "plans in your folders. Beside it stands what each block gets and why it is there; what "
        "does not fit is shortened or left out, the least needed first. Enter goes on to the "
        f"cautions.\n\n{LISTS}"
    ),
    "cautions": (
        "What to mind before the first ball. Enter starts the clock of the session.\n\n" + CARE
    ),
    "session": (
        "The block in hand: why it is there, what to mind, and the balls. In a warm-up, technique "
        "or free block Enter or 5 counts a ball and * takes one back. In a drill or a search Enter "
        "begins, and once it is done Enter goes on. 0 is the next block, 7 stops and starts the "
        "clock, + gives more time, 1 does this block later, 9 skips it, 3 ends the session, / goes "
        "home while the clock runs on. The clock stands under the top line of every screen: what "
        "is left of the session, then of the block. When time is up it turns and says so; you may "
        "finish. A click on it opens what can be done.\n\n" + CARE
    ),
    "find": (
        "Hit the same swing every time. Type each carry and Enter: it is hidden until the end, so "
        "that you do not steer to it, and dots stand for what you type; - shows it until Enter. "
        "/ corrects a hidden one, or with 0 makes it not count; * takes the "
        "latest back; + reveals from five on. Then stand the stock carry with the interval that "
        "holds the true one 8 times in 10, each shot, a mishit marked and the rule, the spread, "
        "and whether the swing is repeatable enough to own. It is saved and dated."
    ),
    "session_summary": (
        "What was planned and what was done, block by block; scores beside your bests; how each "
        "pattern changed; and what to do next time, with the reason. 8 and 2 scroll, Enter leaves. "
        "The line at the bottom says what is next; <what_next> or a click plays it."
    ),
    "stock": (
        "What one swing of one club repeats. Above stand the clubs by swings: ! overlaps the next "
        "longer carry, so that the two may be the same; ? is stale, found more than 90 days ago. "
        "Below each carry stands the gap to the next, and what of it two shots in three of neither "
        "reach. The last lines say which distance to leave yourself when laying up. Enter shows "
        f"the shots; <go> finds another.\n\n{LISTS}"
    ),
    "width": (
        "Never walk out to measure: distances come from a plan, the staff, or a rangefinder used "
        "from the bay. The width of a target from something held up at arm's length, an angle, "
        "net posts or two "
        "bearings, each with what it may be off; or how many fingers a wanted width is. 4 and 6 "
        "turn the way to measure. Arm and hand start from common practice; measured once, they are "
        f"kept.\n\n{LISTS}"
    ),
}
"""As written: `<meaning>` stands for the face of a key."""

TEXTS = {topic: in_words(text) for topic, text in WRITTEN.items()}
