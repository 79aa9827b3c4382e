#include "policies/wordings.h"

#include <array>

namespace dryrig {

namespace {

// From these the reader of sentences learns (policies/wish_reader.h). The manners of speaking that it is tested on are others:
// tests/policies/held_out_wordings.h.
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
    Wording{Wish::kCloser, R"(Go in on the tip. / Go right in there. / Push in on the bead. / Push in while I turn it. / Get right up to it.
Get in there with me. / Go in further. / In, in, until I say stop. / Dive in where the thread comes out.
Move in on this spot.)"},
    Wording{Wish::kCloser, R"(Zoom in on that. / Zoom in until the scale can be read. / Zoom in a little more. / Tighter, please.
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

    Wording{Wish::kWider, R"(Go wider. / A wider view, please. / Wider now, so that they see where I stand. / Could you widen the picture?
Widen it until you have both ends. / Give me a wide view of this. / A wide one, please.
Wide again, thank you. / Make the picture wider.)"},
    Wording{Wish::kWider, R"(Show the whole bench. / Show us the whole table again. / I want the entire bench in the picture.
Let them see the full table. / The complete table, with all the tools.
The whole of the bench, from left to right. / All of the bench, please. / The bench from end to end.
Get the full set-up in.)"},
    Wording{Wish::kWider, R"(Show everything. / Let us see everything on the table. / Everything in one picture, please.
All of it in one view. / I want all the parts in the picture. / All together in the picture now.
Let us have it all in view once more. / Show all that we made. / The lot of it, in a single picture.)"},
    Wording{Wish::kWider, R"(Move back a bit. / Back up, please. / Back off a little. / Go back so that they see both of us. / Pull back.
Pull back until you see the shelf. / Pull out slowly. / Further out, please. / Further back with the camera.
Step back and show the room. / Take a step back with me. / Retreat a little.)"},
    Wording{Wish::kWider, R"(Zoom out. / Zoom out until the lamp is in. / Open up the picture. / Open the view out again.
Loosen the frame a little. / A looser frame, please. / Leave more space around it.
More air around the pot, please. / Give it some space in the frame. / Put some space on both sides.)"},
    Wording{Wish::kWider, R"(From farther away, please. / Show it from a distance. / Look at it from across the room.
As someone at the door would see it. / From where the audience sits.
How does it look from over there, far off? / A long way off, please. / Give me some distance now.)"},
    Wording{Wish::kWider, R"(Give us an overview. / An overview of the tools, please. / Now the general view. / The big picture, please.
Let them see how it all hangs together. / Show where everything is. / Show the surroundings too.
I want to see what lies around it. / Get the neighbours into the picture as well.
Include the tray and the jar. / Get both of them into one picture.
The two of them side by side in the picture, please.)"},

    Wording{Wish::kAbove, R"(From above, please. / Show it from above. / Now look at it from above. / Can we have this from overhead?
An overhead view, please. / Overhead for this one. / Film it from right above.
Straight from above, so that the lines are parallel.)"},
    Wording{Wish::kAbove, R"(Look straight down on it. / Look down onto the board. / Looking down you see the pattern.
Down into the bowl, please. / Point the camera straight down. / Tip the lens down on this.
Look down the hole. / I want to look down on the whole ring. / See it looking straight down.)"},
    Wording{Wish::kAbove, R"(From the top, please. / Show the top side by coming over it. / A top view would help. / Top down for this.
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
    Wording{Wish::kNothing, R"(This is the needle. / This one is made of oak. / That is a file, and that is a rasp. / Here is the glue.
These are the clamps. / We need a hammer and two nails. / The knife has to be sharp. / I always use beeswax.
The handle is ash, the head is iron. / My grandmother had the same one. / You can buy this in any shop.
The paper comes from an old book.)"},
    Wording{Wish::kNothing, R"(Cut along the line. / Press it firmly and wait. / Turn it over and do the same again. / Now fold it once.
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
    Wording{Wish::kNothing, R"(I cannot see without my glasses. / I see no reason to hurry. / Look after your tools. / Look, it is raining.
You see, it is not hard. / Let me see, where was I? / As you see, I make mistakes too.
We shall see whether it holds. / It looks worse than it is. / Watch your fingers.
Do not look at me, I look tired. / The picture on the wall is my father's. / I once saw this in a film.
Show me a carpenter who never cursed. / A good view from this window, is it not?)"},
    Wording{Wish::kNothing, R"(Everything takes longer than you think. / All the glue has to come off. / The whole thing takes an hour.
Put everything back where it was. / All of this is scrap. / I have told you everything I know.
The entire sheet has to be wet. / Give it some time. / Give it a good rub. / Take a step at a time.
It goes back to the ancient Romans. / It is back to front. / Let it return to room temperature.
As before, a drop of oil. / It is normal that it smells. / The usual mistake is too much water.
In a normal house nobody notices. / Far too many people forget this. / It comes from far away.
The distance between the two is a finger.)"},
    Wording{Wish::kNothing, R"(Who is at the door? / Somebody turn the radio down. / My cat likes this chair. / It is warm in here today.
I had a bad night. / My teacher was stricter than I am. / He told that story every day. / The bus goes at six.
Are there any questions? / No, that is not mine. / No, wait, I was wrong. / Sorry, the other one.
I mean the red one, not the blue one. / Not this one, the one beside it. / First things first.
One, two, three, and rest. / Second, the lid. / Third, patience. / Well, well. / Good. / There.
And that is how it is done.)"},
    Wording{Wish::kNothing, R"(You need not come closer for this. / Do not zoom in yet. / No need to go wider. / Stay where you are.
Do not move the camera now. / Not from above, the light is bad there. / Never mind the close-up.
You do not have to show everything.)"},
};

}  // namespace

std::span<const Wording> Wordings() {
  return kWordings;
}

}  // namespace dryrig
