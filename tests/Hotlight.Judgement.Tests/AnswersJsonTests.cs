using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Measure.Landmarks;

namespace Hotlight.Judgement.Tests;

public sealed class AnswersJsonTests
{
    [Theory]
    [InlineData("""{"purpose": "nothing"}""", "is not a purpose of wrist-pa")]
    [InlineData("""{"ability": "sleepy"}""", "is not an ability of the patient")]
    [InlineData("""{"repeats": "two"}""", "examination is an object")]
    [InlineData("""{"colour": "grey"}""", "examination is an object")]
    [InlineData("""{"shown": ["anatomy.carpsu"]}""", "the nearest is 'anatomy.carpus'")]
    public void Read_ExaminationThatDoesNotExist_IsRefusedInOneSentence(string examination, string words)
    {
        string json = $$"""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {}, "examination": {{examination}}}""";
        Assert.Contains(words, Assert.Throws<UnreadableAnswersException>(() => AnswersJson.Read(json, "mine.json", ProjectionCatalogue.BuiltIn.Get("wrist-pa"))).Reason, StringComparison.Ordinal);
    }

    [Fact]
    public void Read_WhatWasWritten_ComesBack()
    {
        Answers answers = Answers.None("wrist-pa") with { Reader = "Reader 3" };
        answers = answers
            .With("anatomy.carpus", new Answer(ChecklistState.Met))
            .With("position.palm-flat", new Answer(ChecklistState.NotMet, "thumb-side-raised", "Plaster in the way – Größe 2"))
            .With("marker.side", new Answer(ChecklistState.CannotTell))
            .With("records.shielding", new Answer(ChecklistState.NotApplicable)) with
        { Verdict = new VerdictAnswer(VerdictKind.Repeat, "The surgeon asked for the whole carpus.") };
        Answers back = AnswersJson.Read(AnswersJson.Write(answers), "a.json", Cases.WristPa);
        Assert.Equal(answers.Reader, back.Reader);
        Assert.Equal(answers.Verdict, back.Verdict);
        Assert.Equal(answers.Lines.OrderBy(line => line.Key), back.Lines.OrderBy(line => line.Key));
    }

    [Fact]
    public void Read_PoseThatWasWritten_ComesBack()
    {
        var pose = new PoseMarks { Side = "L", IsInHandout = true, Points = new Dictionary<string, LandmarkPoint> { ["styloid-tip"] = LandmarkPoint.At(new PixelPoint(X: 12.5, Y: 340), 4) } };
        PoseMarks back = AnswersJson.Read(AnswersJson.Write(Answers.None("wrist-pa") with { Pose = pose }), "a.json", Cases.WristPa).Pose!;
        Assert.Equal(("L", true), (back.Side, back.IsInHandout));
        Assert.Equal(pose.Points["styloid-tip"], back.Points["styloid-tip"]);
        Assert.Single(back.Points);

        // What holds nothing is not written.
        string none = AnswersJson.Write(Answers.None("wrist-pa") with { Pose = PoseMarks.None });
        Assert.DoesNotContain("pose", none, StringComparison.Ordinal);
        Assert.Null(AnswersJson.Read(none, "a.json", Cases.WristPa).Pose);
    }

    [Theory]
    [InlineData("3", "pose is an object")]
    [InlineData("""{"side": "both"}""", "pose is an object")]
    [InlineData("""{"inHandout": "yes"}""", "pose is an object")]
    [InlineData("""{"angle": 3}""", "pose is an object")]
    [InlineData("""{"points": []}""", "pose is an object")]
    [InlineData("""{"points": {"Up and down": {"x": 1, "y": 2}}}""", "'Up and down' cannot be the name of a point")]
    [InlineData("""{"points": {"styloid-tip": {"x": 1e9, "y": 2}}}""", "no place on an image")]
    [InlineData("""{"points": {"styloid-tip": {"x": 1}}}""", "not a place with x and y")]
    public void Read_PoseThatCannotBe_IsRefusedInOneSentence(string pose, string words)
    {
        string json = $$"""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {}, "pose": {{pose}}}""";
        Assert.Contains(words, Assert.Throws<UnreadableAnswersException>(() => AnswersJson.Read(json, "mine.json", Cases.WristPa)).Reason, StringComparison.Ordinal);
    }

    [Fact]
    public void Read_PoseWithTooManyPoints_IsRefused()
    {
        string points = string.Join(", ", Enumerable.Range(0, PoseMarks.MostPoints + 1).Select(number => $"\"point-{number}\": {{\"x\": 1, \"y\": 2}}"));
        string json = """{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {}, "pose": {"points": {""" + points + "}}}";
        Assert.Contains("more than 64 points", Assert.Throws<UnreadableAnswersException>(() => AnswersJson.Read(json, "mine.json", Cases.WristPa)).Reason, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("nonsense", "not JSON")]
    [InlineData("[]", "one object")]
    [InlineData("""{"projection": "wrist-pa", "answers": {}}""", "schema is missing")]
    [InlineData("""{"schema": "hotlight.answers/9", "projection": "wrist-pa", "answers": {}}""", "this version reads 'hotlight.answers/1'")]
    [InlineData("""{"schema": "hotlight.answers/1", "answers": {}}""", "projection is missing")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "knee-ap", "answers": {}}""", "for 'knee-ap', but 'wrist-pa' is judged")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa"}""", "answers is missing")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {}, "opinion": "repeat"}""", "'opinion' is not a member")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {}, "verdict": "repeat"}""", "an object of kind and reason")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {}, "verdict": {"kind": "repeat", "why": "x"}}""", "an object of kind and reason")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {}, "verdict": {"kind": "repeat"}}""", "has no reason")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {}, "verdict": {"kind": "repeat", "reason": "  "}}""", "has no reason")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {}, "verdict": {"reason": "because"}}""", "has no kind")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {}, "verdict": {"kind": "undetermined", "reason": "x"}}""", "is not a verdict a reader can give")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {"anatomy.carpius": {"state": "met"}}}""", "did you mean 'anatomy.carpus'?")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {"anatomy.carpus": {"state": "yes"}}}""", "'yes' in the answer to 'anatomy.carpus' is not a state")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {"anatomy.carpus": {}}}""", "has no state")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {"anatomy.carpus": "met"}}""", "not an object")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {"anatomy.carpus": {"state": "not-met", "miss": "gone"}}}""", "'gone' is not a way of missing 'anatomy.carpus'; there are cut")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {"anatomy.carpus": {"state": "met", "miss": "cut"}}}""", "only not-met has one")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {"anatomy.carpus": {"state": "met", "colour": "blue"}}}""", "'colour'")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {"anatomy.carpus": {"state": 1}}}""", "not a text")]
    [InlineData("""{"schema": "hotlight.answers/1", "projection": "wrist-pa", "answers": {"anatomy.carpus": {"state": "met"}, "anatomy.carpus": {"state": "met"}}}""", "twice")]
    public void Read_WrongFile_SaysInOneSentenceWhatIsWrong(string json, string words)
    {
        UnreadableAnswersException error = Assert.Throws<UnreadableAnswersException>(() => AnswersJson.Read(json, "answers.json", Cases.WristPa));
        Assert.StartsWith("answers.json: ", error.Message, StringComparison.Ordinal);
        Assert.Contains(words, error.Message, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', error.Message);
    }
}
