#include "policies/wordings.h"

#include <array>

namespace dryrig {

namespace {

// From these the reader of sentences learns (policies/wish_reader.h). The manners of speaking that it is tested on are others:
// tests/policies/held_out_wordings.h and the files beside it.
constexpr std::array kWordings{
    Wording{Wish::kCloser, R"(Come closer. / Come a bit closer now. / Could you come in closer, please?
A little closer to my fingers, please. / Closer still, you cannot see it from there.
Get closer to the joint. / Move in closer on this. / Bring the camera closer to the seam.
I would like you closer for the next part. / Closer, and keep it steady.)"},
    Wording{Wish::kCloser, R"(Nearer, please. / Come nearer to the blade. / A touch nearer with the camera.
Could you get nearer to this corner? / As near as you can without bumping into me.
Come near, this is a small thing. / Bring it near so that everybody sees. / You may come quite near here.)"},
    Wording{Wish::kCloser, R"(Make it bigger in the picture. / Show that bigger. / I want this big, really big.
Can we see this one bigger? / Big enough to count the teeth. / Make the hole as big as the screen.
Get it larger, please. / This should be larger in your frame. / Much larger, so that the grain shows.
Larger, the people at the back cannot see.)"},
    Wording{Wish::kCloser, R"(Fill the picture with this. / Fill the whole frame with my thumb. / Let the knot fill your frame.
I want nothing but the stitch in the picture. / Only the tip, from edge to edge of the frame.
Nothing else in the picture, just the screw. / Just this corner and nothing around it.
Crop it down to the nail.)"},
    Wording{Wish::kCloser, R"(Go in on the tip. / Go right in there. / Push in on the bead. / Push in while I turn it.
Get right up to it.
Get in there with me. / Go in further. / In, in, until I say stop. / Dive in where the thread comes out.
Move in on this spot.)"},
    Wording{Wish::kCloser, R"(Zoom in on that. / Zoom in until the scale can be read. / Zoom in a little more.
Tighter, please.
Tighten up on the clasp. / Go tight on this. / A tight one of the needle's eye, please.
Keep it tight while I cut. / Make it a tight picture.)"},
    Wording{Wish::kCloser, R"(Take a closer look at this edge. / Have a close look here. / Look very closely now.
I want them to see every fibre. / Let us see the detail. / Show the fine detail of the bevel.
You should see each single thread. / We need to see this in great detail. / Magnify that for us.
Could we get a magnifying glass on this, so to speak? / Show it under the loupe.
Every pore should be visible.)"},
    Wording{Wish::kCloser, R"(Look how small that is, you had better lean in. / Lean in for this one. / Put your nose on it.
Stick your nose right in. / Nose down to the wood, please. / Get your lens right onto the crack.
Put the lens next to my thumb. / Right up against it with the lens.)"},
    Wording{Wish::kCloser, R"(Give me a close-up of the hinge. / A close up, please. / An extreme close-up would be good here.
I need a macro of this. / Now the close view again. / Film this up close. / From up close you see the burr.
Up close, please.)"},

    Wording{Wish::kWider, R"(Go wider. / A wider view, please. / Wider now, so that they see where I stand.
Could you widen the picture?
Widen it until you have both ends. / Give me a wide view of this. / A wide one, please.
Wide again, thank you. / Make the picture wider.)"},
    Wording{Wish::kWider, R"(Show the whole bench. / Show us the whole table again. / I want the entire bench in the picture.
Let them see the full table. / The complete table, with all the tools.
The whole of the bench, from left to right. / All of the bench, please. / The bench from end to end.
Get the full set-up in.)"},
    Wording{Wish::kWider, R"(Show everything. / Let us see everything on the table. / Everything in one picture, please.
All of it in one view. / I want all the parts in the picture. / All together in the picture now.
Let us have it all in view once more. / Show all that we made. / The lot of it, in a single picture.)"},
    Wording{Wish::kWider, R"(Move back a bit. / Back up, please. / Back off a little. / Go back so that they see both of us.
Pull back.
Pull back until you see the shelf. / Pull out slowly. / Further out, please. / Further back with the camera.
Step back and show the room. / Take a step back with me. / Retreat a little.)"},
    Wording{Wish::kWider, R"(Zoom out. / Zoom out until the lamp is in. / Open up the picture. / Open the view out again.
Loosen the frame a little. / A looser frame, please. / Leave more space around it.
More air around the pot, please. / Give it some space in the frame. / Put some space on both sides.)"},
    Wording{Wish::kWider, R"(From farther away, please. / Show it from a distance. / Look at it from across the room.
As someone at the door would see it. / From where the audience sits.
How does it look from over there, far off? / A long way off, please. / Give me some distance now.)"},
    Wording{Wish::kWider, R"(Give us an overview. / An overview of the tools, please. / Now the general view.
The big picture, please.
Let them see how it all hangs together. / Show where everything is. / Show the surroundings too.
I want to see what lies around it. / Get the neighbours into the picture as well.
Include the tray and the jar. / Get both of them into one picture.
The two of them side by side in the picture, please.)"},

    Wording{Wish::kAbove, R"(From above, please. / Show it from above. / Now look at it from above.
Can we have this from overhead?
An overhead view, please. / Overhead for this one. / Film it from right above.
Straight from above, so that the lines are parallel.)"},
    Wording{Wish::kAbove, R"(Look straight down on it. / Look down onto the board. / Looking down you see the pattern.
Down into the bowl, please. / Point the camera straight down. / Tip the lens down on this.
Look down the hole. / I want to look down on the whole ring. / See it looking straight down.)"},
    Wording{Wish::kAbove, R"(From the top, please. / Show the top side by coming over it. / A top view would help.
Top down for this.
See it from the top. / Go to the top for the spiral. / The view from the top, please.)"},
    Wording{Wish::kAbove, R"(Go over it. / Come right over the dish. / Get over the top of this. / Hang above it for a while.
Hover over the plate. / Stay over my hands. / Bring the camera over the pot.
Park the lens right over the centre. / Lean over it and look in. / Bend over the bowl with me.)"},
    Wording{Wish::kAbove, R"(Bird's eye view, please. / As a bird sees it. / Like a bird over a field. / As if from the ceiling.
Look at it as the ceiling lamp does. / Climb up and look at the layout. / Rise above the table.
Go up high and look at all the petals. / Up, above me, and down onto the wheel.
The map of it is best seen from high up. / As a plan on paper, seen flat. / Like a map, please.)"},

    Wording{Wish::kLevel, R"(At eye level, please. / Bring it down to eye level. / Look at it level with the table.
Level with my hands, please. / Get down level with the wood. / Stay level with the surface.
Come down to the level of the rim. / On a level with the blade. / A level view, please.)"},
    Wording{Wish::kLevel, R"(From the height of the bench. / At the height of the edge, please. / Go down to table height.
As low as the table top. / Low, so that we see the gap under it. / Lower, right down to the board.
Drop down so that you look along the surface. / Come down low. / Get the camera low and flat.
Keep low for this.)"},
    Wording{Wish::kLevel, R"(From the side, please. / Show it from the side, so that the bend is clear. / Side on, please.
In profile, please. / The profile of it tells more. / Show it straight from the front. / Head on, please.
Square on to the face of it. / Look it straight in the face. / Look along the edge.
Sight along it as you would along a ruler. / Look across the top of it.)"},
    Wording{Wish::kLevel, R"(Face to face with it. / Look it in the eye. / Eye to eye with the little fellow.
See it as an ant on the table would. / As if your chin were on the bench.
Put your chin on the table and look. / Kneel down and look across. / Crouch for this one.
With your eye at the edge, you see the light under it.)"},

    Wording{Wish::kNormal, R"(Back to normal. / Go back to the normal view. / The usual view again, please. / As before, please.
The same view as before. / Back to how we were. / Return to the ordinary view. / Where we were before is fine.
You can go back to your place. / Thank you, that will do, back to the usual. / Reset the view, please.
The standard view again.)"},

    Wording{Wish::kNothing, R"(Welcome to the workshop. / Good morning, and thank you for coming. / Hello again, everybody.
Today we make a small box. / Tonight we repair a chair. / My name does not matter, the work does.
Let us begin. / That is all for today. / Thank you for your time. / See you next week.
Good night, and mind the step. / I am glad that you are here.)"},
    Wording{Wish::kNothing, R"(This is the needle. / This one is made of oak. / That is a file, and that is a rasp.
Here is the glue.
These are the clamps. / We need a hammer and two nails. / The knife has to be sharp. / I always use beeswax.
The handle is ash, the head is iron. / My grandmother had the same one. / You can buy this in any shop.
The paper comes from an old book.)"},
    Wording{Wish::kNothing, R"(Cut along the line. / Press it firmly and wait. / Turn it over and do the same again.
Now fold it once.
Pull the thread through. / Pull it tight. / Tighten the screw, but not too much. / Hold it with the left hand.
Stir slowly until it is smooth. / Wipe the blade after each cut. / Sand it with the grain.
Tie a knot and cut the end. / Push the pin in. / Push it in all the way. / Go round the edge twice.
Go back to the start of the row. / Move the clamp to the other end. / Bring the ends together.
Fill the hole with putty. / Fill the jar to the mark. / Open the jar first. / Lean on it with your weight.
Step on the pedal gently.)"},
    Wording{Wish::kNothing, R"(The holes are closer together here. / It sits nearer to the rim than to the middle.
Keep the pieces close to each other. / The closer the stitches, the stronger the seam.
A bigger needle makes a bigger hole. / The larger one goes below. / It gets larger as it dries.
The wide end goes first. / Make the slot wider than the blade. / A wider board would warp.
The gap is too wide. / It takes a big hammer. / Small pieces dry faster than big ones.
Leave a gap as wide as a coin. / Leave some space for the glue. / Near the knot the grain turns.)"},
    Wording{Wish::kNothing, R"(The top coat comes last. / Above all, be patient. / Pour it over the top. / Put the lid on top.
The top edge is still rough. / Lay one over the other. / Hang it over the chair to dry.
It is over in a minute. / Bend it over the edge. / The line above the fold is the one to follow.
Hold it above the steam. / Write your name at the top. / Level the sand with a ruler.
Keep the board level while it dries. / The water finds its own level. / The shelf has to be level.
At this height the saw does not bind. / Mark the height with a pencil. / A low flame is enough.
Turn the heat down low. / The side with the bark goes down. / Put it on its side.
Glue one side, then the other. / The front is the side with the mark. / Face the wood with the plane.)"},
    Wording{Wish::kNothing, R"(I cannot see without my glasses. / I see no reason to hurry. / Look after your tools.
Look, it is raining.
You see, it is not hard. / Let me see, where was I? / As you see, I make mistakes too.
We shall see whether it holds. / It looks worse than it is. / Watch your fingers.
Do not look at me, I look tired. / The picture on the wall is my father's. / I once saw this in a film.
Show me a carpenter who never cursed. / A good view from this window, is it not?)"},
    Wording{Wish::kNothing, R"(Everything takes longer than you think. / All the glue has to come off.
The whole thing takes an hour.
Put everything back where it was. / All of this is scrap. / I have told you everything I know.
The entire sheet has to be wet. / Give it some time. / Give it a good rub. / Take a step at a time.
It goes back to the ancient Romans. / It is back to front. / Let it return to room temperature.
As before, a drop of oil. / It is normal that it smells. / The usual mistake is too much water.
In a normal house nobody notices. / Far too many people forget this. / It comes from far away.
The distance between the two is a finger.)"},
    Wording{Wish::kNothing, R"(Who is at the door? / Somebody turn the radio down. / My cat likes this chair.
It is warm in here today.
I had a bad night. / My teacher was stricter than I am. / He told that story every day. / The bus goes at six.
Are there any questions? / No, that is not mine. / No, wait, I was wrong. / Sorry, the other one.
I mean the red one, not the blue one. / Not this one, the one beside it. / First things first.
One, two, three, and rest. / Second, the lid. / Third, patience. / Well, well. / Good. / There.
And that is how it is done.)"},
    Wording{Wish::kNothing, R"(You need not come closer for this. / Do not zoom in yet. / No need to go wider.
Stay where you are.
Do not move the camera now. / Not from above, the light is bad there. / Never mind the close-up.
You do not have to show everything.)"},
    Wording{Wish::kCloser, R"(Come right in. / Come in on my left hand. / Bring yourself in. / Get in tight around the rivet.
Come in until the thread fills your view. / Creep in slowly. / Ease in on the tip of the awl. / Edge in a little.
Drift in, please.)"},
    Wording{Wish::kCloser, R"(I need you right on top of the detail. / You are too far off to catch this.
You are too far away, come to me.
From where you are nobody can read it. / That is too small in the picture. / It is tiny in your frame, help them out.
They cannot make it out from that far. / Nobody can see the teeth like this. / This needs to be seen from nearby.)"},
    Wording{Wish::kCloser, R"(Show only my fingertips. / Just the fingertips, please. / Only the eye of the needle now.
Isolate the joint for me.
Concentrate on the tip. / Stay with the fine work here. / Let the detail take over the picture.
Put the solder point in the middle and make it huge.
Enlarge this part. / Blow it up for them. / Make it enormous. / Twice as big in the picture, please.
A little bigger on the screen.)"},
    Wording{Wish::kCloser, R"(Let me show them the texture, so be near. / They ought to read the scale.
I want the numbers legible.
Can everyone read the markings? Bring it nearer. / The threads must be countable. / Get me every hair of the brush.
Show the hairline crack to them. / Let them look into the tiny gap. / A detail view, please. / Give me the detail again.)"},
    Wording{Wish::kWider, R"(Let the camera out. / Ease out a little. / Drift out slowly. / Come out of there now.
Come back out. / Out again, please. / Out you go.
Leave the detail and show the room. / Enough of the detail, let us have the bench. / Get out of there and take in the table.)"},
    Wording{Wish::kWider, R"(You are too tight. / That is too near, give us more. / That is too tight for this.
You have cut off my elbows. / My arms are out of the picture.
Half of it is cut off. / Fit both my hands and the board in. / Fit it all in, please. / Both ends have to be in the picture.
Take in the shelf as well.)"},
    Wording{Wish::kWider, R"(Include all the tools. / Have the lamp in the frame too.
Keep me and the bench together in the picture. / I want to be in the picture with it.
Show me with the whole thing. / Let them see me and the table. / Let us see where I am standing.
Show how far it is from one end to the other.)"},
    Wording{Wish::kWider, R"(Make everything smaller in the picture. / A smaller picture of it, with more around.
Less tight. / Not so tight, please. / Somewhat looser. / Relax the frame.
More of the room. / More of the table, please. / A bit more around it. / Give us the context. / The context, please.
Show the scene.
A long view down the bench. / The full view, please. / A full picture of the set-up. / Get some distance. / Draw back.
Draw back from it. / Fall back a little.)"},
    Wording{Wish::kAbove, R"(Come up and over. / Get up over it. / Move up above my hands. / Go above the work.
Above my hands, please. / Stay above it while I draw.
Position yourself over the sheet. / Over the paper, please. / Come over the top and look in.
Take the high position over the bench.)"},
    Wording{Wish::kAbove, R"(Look in from over it. / Peer down into the pot. / Stare down at the board. / Point down at it.
Face down onto the work, please. / Lens down, please.
Aim downward. / Straight onto the sheet, flat. / Perpendicular to the table, please. / At right angles to the top, from high.
Vertically down now.)"},
    Wording{Wish::kAbove, R"(A plan view of it. / The plan view, please. / In plan, please.
As on a drawing, seen flat from high up. / The layout shows best from up there.
From up high you see how it lies. / From up there, please. / Get high. / High up for the arrangement.
Rise over my shoulder and look down.
From over my head. / Over my shoulder and down. / Go to the ceiling. / Show the inside from the opening.
Into the box from over it.
Top shot, please. / Give me the top. / The overhead one again. / Overhead, please. / I will lay it out, so go overhead.)"},
    Wording{Wish::kLevel, R"(Come down to my hands. / Down to the edge with you. / Sink down to the board.
Sink until you see under it. / Lower yourself to the rim. / Lower the camera to the table.
Bring the lens down to the surface. / The lens at the height of my fingers, please. / At the height of the blade.
At hand height. / At the height of my wrists, please.)"},
    Wording{Wish::kLevel, R"(A side view, please. / The side view shows the gap. / Let us see the side of it.
Seen from the side it is clear. / Sideways on, please. / Look at it sideways.
From the left side, please. / From the edge, please. / Edge on. / End on, please. / Straight on. / Dead level, please.
A straight look from the front, low.)"},
    Wording{Wish::kLevel, R"(Get flat with the bench. / Flat along the table. / Along the surface, please.
Skim the surface. / Along the top so that the bump shows. / Sight down the edge for me.
Horizontally, please. / A horizontal view. / Keep the view horizontal and low. / Stay down low with the blade.
Stay at the level of the work.)"},
    Wording{Wish::kLevel, R"(As I see it when I bend down. / From the height of the cup's rim. / Look underneath.
See the light between the two. / Show the gap under the ruler.
Show how flat it lies. / Look straight across at the joint. / Across, not down. / Come off the top and down to the side.
Down here, where the daylight shows through.)"},
    Wording{Wish::kNormal, R"(The normal picture, please. / Normal again. / And normal again, thank you.
Usual position, please. / Back to your usual position. / To your normal place again.
Back where you started. / Go back to where you began. / Back to the beginning position. / Return to the start position.
Return to your place.)"},
    Wording{Wish::kNormal, R"(Home position, please. / Go home now. / Home again. / Back home with the camera.
You may return. / Return, please. / Back again, please. / Back to the first view.
The first view again. / The earlier view, please. / The view we had before. / The way we had it before.
Like before, please. / As it was. / As at the start.)"},
    Wording{Wish::kNormal, R"(The default view. / The regular view, please. / The ordinary picture again.
Resume the usual view. / Resume, please. / Undo that view. / Let go of that view.
That was enough of that, back to the usual picture. / Done with that view. / We are done up close, back to how it was.
Thank you, as you were before.
Thanks, you can go back. / Fine, go back to the standard. / All right, the standard picture again. / Now as usual.
As usual, please. / Carry on as usual with the camera.)"},
    Wording{Wish::kNothing, R"(Draw the line with a soft pencil. / Draw the thread out slowly. / Ease the lid off.
Ease the pin into the hole. / Edge the board with tape. / Sink the nail with a punch.
Lower the lid gently. / Lower the heat a little. / Raise the lid. / Rise is what the dough does now. / Skim the foam off.
Stay calm when it slips.)"},
    Wording{Wish::kNothing, R"(Return the tool to its rack. / Put the cap back. / Go home and practise.
Start again if it tears. / The default glue is white. / I started as usual too early.
The regular size will do. / The ordinary kind is cheaper. / Resume stirring after a minute. / Undo the last stitch.
Let go of the handle.)"},
    Wording{Wish::kNothing, R"(The edge is smooth now. / Along the edge runs a groove. / The side panel comes next.
Straight lines are hard. / A flat file for this. / Keep the plane flat.
The ends are square. / Both ends are tied. / The surface must be clean. / A horizontal groove holds the lid.
The rim is two fingers high. / Flat is flat.)"},
    Wording{Wish::kNothing, R"(The plan is simple. / The layout is on the paper. / The ceiling needs paint.
High heat burns it. / The opening has to be round. / The inside is lined with felt.
Put it over the hole. / It hangs above my bed. / The lid goes over it. / Pass the thread over and under.
Over and under, over and under. / Press it down. / Push the blade down.)"},
    Wording{Wish::kNothing, R"(The scene is set in my kitchen. / The room smells of tar. / Fit the peg into the hole.
Both hands, always. / My arms are tired. / Take the lamp. / Include a pinch of salt.
The full length is one metre. / A long screw goes here. / The frame is made of pine. / A tight fit is what we want.
It is too tight, loosen it. / Too far, go back one hole.)"},
    Wording{Wish::kNothing, R"(The detail took me a week. / A tiny drop is enough. / Count the threads.
Read the label first. / Enlarge the hole with a reamer. / Blow the dust off. / Only the tip gets hot.
Just a drop. / The fingertips must be dry. / Fine work takes time. / Concentrate, then cut. / The crack will not grow.
Every hair of the brush is glued. / The scale is in millimetres.)"},
    Wording{Wish::kNothing, R"(Now I put a second coat on. / The first coat has to dry overnight.
Two thin coats beat a thick one. / Let it cool down before you touch it.
Warm water works better than cold. / Soak it for an hour. / Drain it well. / Knead it until it stops sticking.
The dough should spring back.
Weigh the flour first. / A spoon of honey, no more. / Bake it until it is brown.)"},
    Wording{Wish::kNothing, R"(I hold the needle between thumb and finger. / My thumb keeps the thread tight.
The left hand only guides. / The right hand does the pushing.
Both thumbs on the blade. / The wrist stays loose. / Let the tool do the work.
Short strokes first, then long ones. / Rock the chisel a little. / Twist as you push. / Now the other hand.)"},
    Wording{Wish::kNothing, R"(Mark it in the middle. / Mark the middle with a dot.
The middle is where the two lines cross. / Measure twice. / Ten millimetres from the corner.
Fold it in half and press the fold. / Half a turn more. / A quarter turn is enough. / Count to twenty. / Wait for the click.
Listen for the change in sound.
You feel it give. / You can smell when it is ready. / It feels like leather now.)"},
    Wording{Wish::kNothing, R"(This part is the tricky one. / Here is where most people go wrong. / It is easy once you know.
I got this wrong for years. / Nobody tells you this.
The trick is in the wrist. / The secret is patience. / There is no hurry. / Take your time with it.
If it breaks, begin again. / It does not matter which side.
Either way works. / That is good enough for a first one. / The next one will be better.)"},
    Wording{Wish::kNothing, R"(In the next step we join them. / In a moment I will turn it. / In winter it takes longer.
In this corner there is a pin. / Put it in the jar. / In goes the peg.
Drop it in. / Slide it in from the left. / Tap it in. / Get it in while the glue is wet. / Come on, little screw.
Come to think of it, use two.
Bring the water to the boil. / Bring the two corners together. / Get a good grip. / Go slowly here. / Go easy on the salt.
Move on to the lid.)"},
    Wording{Wish::kNothing, R"(The small ones are for jewellery. / Small parts in the tray, please. / A tiny burr remains.
It is a small mistake. / The big ones are for the frame. / A little oil, please.
A little more, a little more, stop. / More glue than that. / Less is more. / One more time. / Not so much.
That is too much. / That is too thin.
Twice as thick as paper. / It should be twice as long. / Bit by bit. / A bit of wax on the thread.
A bit stiff, but it will do.)"},
    Wording{Wish::kNothing, R"(Hand me the pliers, please. / Pass me that, would you? / Please sit down.
Please write that down. / Switch the lamp on, please. / Close the window, please. / Close the lid. / Close it firmly.
Shut the drawer. / We are close to the end. / That was close. / We are nearly there. / Almost. / Right, next one.
Right then. / Ready? / Good, that holds.
Ask me if you are stuck. / Write to me how it went.)"},
    Wording{Wish::kNothing, R"(People read the grain like a map. / The map of the fields hangs behind me.
The screen broke last week. / I film nothing of this at home. / My camera is older than I am. / The lens cap is in my pocket.
He photographs birds. / A bird sat on the sill. / The frame needs four screws. / Frame it when it is dry.
The picture frame comes last. / The view of the hills is nice from here. / Everyone here has seen this before.
They will see the join if you hurry. / Nobody will see the inside. / Can you see the problem?
You can see where it was glued. / See that the lid fits. / Look for cracks. / Look out, it is hot. / Watch the temperature.
Show some respect for the blade. / I will show you another way tomorrow. / I showed this to my niece.)"},
};

}  // namespace

std::span<const Wording> Wordings() {
  return kWordings;
}

}  // namespace dryrig
