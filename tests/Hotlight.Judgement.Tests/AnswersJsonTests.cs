using Hotlight.Catalogue;

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
