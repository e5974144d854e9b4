using System.Text.Json;
using Hotlight.Core;
using Hotlight.Catalogue;
using Hotlight.Measure.Landmarks;
using Hotlight.Positioning;

namespace Hotlight.Judgement;

/// <summary>Reads and writes a file of answers, strictly: a line, a state or a way of missing that does not exist is an error, not a silence.</summary>
public static class AnswersJson
{
    private static readonly Dictionary<string, ChecklistState> States = new(StringComparer.Ordinal)
    {
        ["met"] = ChecklistState.Met,
        ["not-met"] = ChecklistState.NotMet,
        ["cannot-tell"] = ChecklistState.CannotTell,
        ["not-applicable"] = ChecklistState.NotApplicable,
    };

    private static readonly Dictionary<string, VerdictKind> Verdicts = new(StringComparer.Ordinal)
    {
        ["accept"] = VerdictKind.Accept,
        ["accept-with-remark"] = VerdictKind.AcceptWithRemark,
        ["repeat"] = VerdictKind.Repeat,
    };

    /// <summary>Reads answers.</summary>
    /// <param name="json">The file's text.</param>
    /// <param name="file">Name of the file, for messages.</param>
    /// <param name="projection">The projection that is judged.</param>
    /// <exception cref="UnreadableAnswersException">The text is not a file of answers to this projection; the message is one sentence.</exception>
    public static Answers Read(string json, string file, Projection projection)
    {
        ArgumentNullException.ThrowIfNull(projection);
        JsonDocument document;
        try
        {
            document = JsonText.Parse(json, new JsonDocumentOptions { AllowDuplicateProperties = false });
        }
        catch (JsonException error)
        {
            throw new UnreadableAnswersException(file, error.LineNumber is { } line ? $"this is not JSON; look at line {line + 1}." : "this is not JSON, or a member stands twice.", error);
        }

        using (document)
        {
            JsonElement root = document.RootElement;
            if (root.ValueKind != JsonValueKind.Object)
            {
                throw new UnreadableAnswersException(file, "a file of answers is one object with schema, projection and answers.");
            }

            foreach (JsonProperty member in root.EnumerateObject())
            {
                if (member.Name is not ("schema" or "projection" or "reader" or "answers" or "landmarks" or "verdict" or "examination" or "pose" or "plan"))
                {
                    throw new UnreadableAnswersException(file, $"'{member.Name}' is not a member of a file of answers; it has schema, projection, reader, answers, landmarks, verdict, examination, pose and plan.");
                }
            }

            string schema = Text(root, "schema", file) ?? throw new UnreadableAnswersException(file, $"the member schema is missing; write \"{Answers.SchemaName}\".");
            if (schema != Answers.SchemaName)
            {
                throw new UnreadableAnswersException(file, $"the file says '{schema}'; this version reads '{Answers.SchemaName}'.");
            }

            string projectionId = Text(root, "projection", file) ?? throw new UnreadableAnswersException(file, "the member projection is missing.");
            if (projectionId != projection.Id)
            {
                throw new UnreadableAnswersException(file, $"the answers are for '{projectionId}', but '{projection.Id}' is judged.");
            }

            string? reader = Text(root, "reader", file);
            if (!root.TryGetProperty("answers", out JsonElement answers) || answers.ValueKind != JsonValueKind.Object)
            {
                throw new UnreadableAnswersException(file, "the member answers is missing or not an object of lines.");
            }

            return new Answers { ProjectionId = projectionId, Reader = reader, Lines = ReadLines(answers, file, projection), Landmarks = ReadLandmarks(root, file, projection), Verdict = ReadVerdict(root, file), Examination = ReadExamination(root, file, projection), Pose = ReadPose(root, file), Plan = ReadPlan(root, file, projection) };
        }
    }

    /// <summary>Writes answers.</summary>
    /// <param name="answers">The answers.</param>
    public static string Write(Answers answers)
    {
        ArgumentNullException.ThrowIfNull(answers);
        using var stream = new MemoryStream();
        using (var writer = new Utf8JsonWriter(stream, new JsonWriterOptions { Indented = true, NewLine = "\n", Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping }))
        {
            writer.WriteStartObject();
            writer.WriteString("schema", Answers.SchemaName);
            writer.WriteString("projection", answers.ProjectionId);
            if (answers.Reader is not null)
            {
                writer.WriteString("reader", answers.Reader);
            }

            writer.WriteStartObject("answers");
            foreach ((string id, Answer answer) in answers.Lines.OrderBy(line => line.Key, StringComparer.Ordinal))
            {
                writer.WriteStartObject(id);
                writer.WriteString("state", States.First(state => state.Value == answer.State).Key);
                if (answer.Miss is not null)
                {
                    writer.WriteString("miss", answer.Miss);
                }

                if (answer.Remark is not null)
                {
                    writer.WriteString("remark", answer.Remark);
                }

                writer.WriteEndObject();
            }

            writer.WriteEndObject();
            if (answers.Landmarks.Count > 0)
            {
                WritePlaces(writer, "landmarks", answers.Landmarks);
            }

            if (answers.Verdict is { } verdict)
            {
                writer.WriteStartObject("verdict");
                writer.WriteString("kind", Verdicts.First(kind => kind.Value == verdict.Kind).Key);
                writer.WriteString("reason", verdict.Reason);
                writer.WriteEndObject();
            }

            if (answers.Examination is { } examination && examination != ExaminationContext.None)
            {
                WriteExamination(writer, examination);
            }

            if (answers.Pose is { IsEmpty: false } pose)
            {
                WritePose(writer, pose);
            }

            if (answers.Plan.Count > 0)
            {
                WritePlan(writer, answers.Plan);
            }

            writer.WriteEndObject();
        }

        return System.Text.Encoding.UTF8.GetString(stream.ToArray()) + "\n";
    }

    private static void WriteExamination(Utf8JsonWriter writer, ExaminationContext examination)
    {
        writer.WriteStartObject("examination");
        if (examination.PurposeId is { } purpose)
        {
            writer.WriteString("purpose", purpose);
        }

        if (examination.Ability is { } ability)
        {
            writer.WriteString("ability", JsonNamingPolicy.KebabCaseLower.ConvertName(ability.ToString()));
        }

        if (examination.RepeatsAlready is { } repeats)
        {
            writer.WriteNumber("repeats", repeats);
        }

        if (examination.ShownElsewhere.Count > 0)
        {
            writer.WriteStartArray("shown");
            foreach (string line in examination.ShownElsewhere)
            {
                writer.WriteStringValue(line);
            }

            writer.WriteEndArray();
        }

        writer.WriteEndObject();
    }

    private static void WritePlaces(Utf8JsonWriter writer, string name, IReadOnlyDictionary<string, LandmarkPoint> points)
    {
        writer.WriteStartObject(name);
        foreach ((string id, LandmarkPoint point) in points.OrderBy(point => point.Key, StringComparer.Ordinal))
        {
            writer.WritePropertyName(id);
            LandmarksJson.WritePlace(point).WriteTo(writer);
        }

        writer.WriteEndObject();
    }

    private static void WritePose(Utf8JsonWriter writer, PoseMarks pose)
    {
        writer.WriteStartObject("pose");
        if (pose.Side is { } side)
        {
            writer.WriteString("side", side);
        }

        if (pose.Points.Count > 0)
        {
            WritePlaces(writer, "points", pose.Points);
        }

        if (pose.IsInHandout)
        {
            writer.WriteBoolean("inHandout", true);
        }

        writer.WriteEndObject();
    }

    private static void WritePlan(Utf8JsonWriter writer, IReadOnlyList<PlanEdit> plan)
    {
        writer.WriteStartArray("plan");
        foreach (PlanEdit edit in plan)
        {
            writer.WriteStartObject();
            if (edit.LineId is not null)
            {
                writer.WriteString("line", edit.LineId);
            }

            if (edit.Step is { } step)
            {
                writer.WriteString("step", JsonNamingPolicy.KebabCaseLower.ConvertName(step.ToString()));
            }

            if (edit.Instruction is not null)
            {
                writer.WriteString("instruction", edit.Instruction);
            }

            writer.WriteEndObject();
        }

        writer.WriteEndArray();
    }

    private static List<PlanEdit> ReadPlan(JsonElement root, string file, Projection projection)
    {
        var plan = new List<PlanEdit>();
        if (!root.TryGetProperty("plan", out JsonElement given))
        {
            return plan;
        }

        const string Form = "plan is a list of edits with line, step and instruction; a line without an instruction strikes its change out, an instruction without a line is the reader's own.";
        if (given.ValueKind != JsonValueKind.Array || given.EnumerateArray().Any(edit => edit.ValueKind != JsonValueKind.Object || edit.EnumerateObject().Any(member => member.Name is not ("line" or "step" or "instruction"))))
        {
            throw new UnreadableAnswersException(file, Form);
        }

        if (given.GetArrayLength() > PlanEdit.MostEdits)
        {
            throw new UnreadableAnswersException(file, $"the plan has more than {PlanEdit.MostEdits} edits.");
        }

        IReadOnlyList<ChecklistLine> blank = CritiqueBuilder.BlankChecklist(projection);
        foreach (JsonElement member in given.EnumerateArray())
        {
            TableStep? step = null;
            if (Text(member, "step", file) is { } word)
            {
                TableStep[] fitting = [.. Enum.GetValues<TableStep>().Where(each => JsonNamingPolicy.KebabCaseLower.ConvertName(each.ToString()) == word)];
                step = fitting.Length == 1
                    ? fitting[0]
                    : throw new UnreadableAnswersException(file, $"'{word}' is not a step at the table; there are {string.Join(", ", Enum.GetNames<TableStep>().Select(JsonNamingPolicy.KebabCaseLower.ConvertName))}.");
            }

            var edit = new PlanEdit { LineId = Text(member, "line", file), Step = step, Instruction = Text(member, "instruction", file) };
            if (edit.LineId is { } line && blank.All(known => known.Id != line))
            {
                throw new UnreadableAnswersException(file, $"'{line}' in the plan is not a line of the checklist for {projection.Id}.");
            }

            plan.Add(edit.Fault() is { } fault ? throw new UnreadableAnswersException(file, $"in the plan, {fault}") : edit);
        }

        return plan;
    }

    // Which points a projection has for the pose is not known here: what the pose model does not have is passed over when the pose is fitted.
    private static PoseMarks? ReadPose(JsonElement root, string file)
    {
        if (!root.TryGetProperty("pose", out JsonElement given))
        {
            return null;
        }

        const string Form = "pose is an object with side (R or L), points and inHandout (true or false), each left out where it is not given.";
        if (given.ValueKind != JsonValueKind.Object || given.EnumerateObject().Any(member => member.Name is not ("side" or "points" or "inHandout")))
        {
            throw new UnreadableAnswersException(file, Form);
        }

        string? side = Text(given, "side", file);
        if (side is not (null or "R" or "L"))
        {
            throw new UnreadableAnswersException(file, Form);
        }

        bool isInHandout = false;
        if (given.TryGetProperty("inHandout", out JsonElement wanted))
        {
            isInHandout = wanted.ValueKind is JsonValueKind.True or JsonValueKind.False ? wanted.GetBoolean() : throw new UnreadableAnswersException(file, Form);
        }

        var points = new Dictionary<string, LandmarkPoint>(StringComparer.Ordinal);
        if (given.TryGetProperty("points", out JsonElement marked))
        {
            if (marked.ValueKind != JsonValueKind.Object)
            {
                throw new UnreadableAnswersException(file, Form);
            }

            foreach (JsonProperty mark in marked.EnumerateObject())
            {
                if (!PoseMarks.IsId(mark.Name))
                {
                    throw new UnreadableAnswersException(file, $"in the pose, '{mark.Name}' cannot be the name of a point; it has small letters, digits and hyphens, at most {PoseMarks.LongestId}.");
                }

                if (points.Count == PoseMarks.MostPoints)
                {
                    throw new UnreadableAnswersException(file, $"the pose has more than {PoseMarks.MostPoints} points.");
                }

                try
                {
                    points.Add(mark.Name, LandmarksJson.ReadPlace(mark.Value, mark.Name, file));
                }
                catch (UnreadableLandmarksException error)
                {
                    throw new UnreadableAnswersException(file, error.Reason, error);
                }
            }
        }

        var pose = new PoseMarks { Side = side, Points = points, IsInHandout = isInHandout };
        return pose.IsEmpty ? null : pose;
    }

    private static ExaminationContext? ReadExamination(JsonElement root, string file, Projection projection)
    {
        if (!root.TryGetProperty("examination", out JsonElement given))
        {
            return null;
        }

        const string Form = "examination is an object with purpose, ability, repeats and shown, each left out where it is not known.";
        if (given.ValueKind != JsonValueKind.Object || given.EnumerateObject().Any(member => member.Name is not ("purpose" or "ability" or "repeats" or "shown")))
        {
            throw new UnreadableAnswersException(file, Form);
        }

        PatientAbility? ability = null;
        if (Text(given, "ability", file) is { } word)
        {
            PatientAbility[] fitting = [.. Enum.GetValues<PatientAbility>().Where(each => JsonNamingPolicy.KebabCaseLower.ConvertName(each.ToString()) == word)];
            ability = fitting.Length == 1
                ? fitting[0]
                : throw new UnreadableAnswersException(file, $"'{word}' is not an ability of the patient; there are {string.Join(", ", Enum.GetNames<PatientAbility>().Select(JsonNamingPolicy.KebabCaseLower.ConvertName))}.");
        }

        int? repeats = null;
        if (given.TryGetProperty("repeats", out JsonElement number))
        {
            repeats = number.ValueKind == JsonValueKind.Number && number.TryGetInt32(out int count) ? count : throw new UnreadableAnswersException(file, Form);
        }

        string[] shown = [];
        if (given.TryGetProperty("shown", out JsonElement list))
        {
            shown = list.ValueKind == JsonValueKind.Array && list.EnumerateArray().All(line => line.ValueKind == JsonValueKind.String)
                ? [.. list.EnumerateArray().Select(line => line.GetString()!)]
                : throw new UnreadableAnswersException(file, Form);
        }

        var examination = new ExaminationContext { PurposeId = Text(given, "purpose", file), Ability = ability, RepeatsAlready = repeats, ShownElsewhere = shown };
        return examination.Fault(projection) is { } fault ? throw new UnreadableAnswersException(file, fault) : examination;
    }

    private static Dictionary<string, LandmarkPoint> ReadLandmarks(JsonElement root, string file, Projection projection)
    {
        var landmarks = new Dictionary<string, LandmarkPoint>(StringComparer.Ordinal);
        if (!root.TryGetProperty("landmarks", out JsonElement marked))
        {
            return landmarks;
        }

        if (marked.ValueKind != JsonValueKind.Object)
        {
            throw new UnreadableAnswersException(file, "the member landmarks is not an object of places.");
        }

        foreach (JsonProperty landmark in marked.EnumerateObject())
        {
            if (projection.Landmarks.All(known => known.Id != landmark.Name))
            {
                string near = Nearest.To(landmark.Name, projection.Landmarks.Select(known => known.Id)) is { } best ? $"; did you mean '{best}'?" : ".";
                throw new UnreadableAnswersException(file, $"'{landmark.Name}' is not a landmark of {projection.Id}{near}");
            }

            try
            {
                landmarks.Add(landmark.Name, LandmarksJson.ReadPlace(landmark.Value, landmark.Name, file));
            }
            catch (UnreadableLandmarksException error)
            {
                throw new UnreadableAnswersException(file, error.Reason, error);
            }
        }

        return landmarks;
    }

    private static VerdictAnswer? ReadVerdict(JsonElement root, string file)
    {
        if (!root.TryGetProperty("verdict", out JsonElement verdict) || verdict.ValueKind == JsonValueKind.Null)
        {
            return null;
        }

        if (verdict.ValueKind != JsonValueKind.Object || verdict.EnumerateObject().FirstOrDefault(member => member.Name is not ("kind" or "reason")) is { Value.ValueKind: not JsonValueKind.Undefined })
        {
            throw new UnreadableAnswersException(file, "the member verdict is an object of kind and reason.");
        }

        string kind = Text(verdict, "kind", file) ?? throw new UnreadableAnswersException(file, "the reader's verdict has no kind; write accept, accept-with-remark or repeat.");
        if (!Verdicts.TryGetValue(kind, out VerdictKind known))
        {
            throw new UnreadableAnswersException(file, $"'{kind}' is not a verdict a reader can give; write accept, accept-with-remark or repeat.");
        }

        return new VerdictAnswer(known, Text(verdict, "reason", file) ?? throw new UnreadableAnswersException(file, "the reader's verdict has no reason; a verdict of one's own is kept only with why."));
    }

    private static Dictionary<string, Answer> ReadLines(JsonElement answers, string file, Projection projection)
    {
        IReadOnlyList<ChecklistLine> blank = CritiqueBuilder.BlankChecklist(projection);
        var lines = new Dictionary<string, Answer>(StringComparer.Ordinal);
        foreach (JsonProperty line in answers.EnumerateObject())
        {
            ChecklistLine known = blank.FirstOrDefault(candidate => candidate.Id == line.Name)
                ?? throw new UnreadableAnswersException(file, $"'{line.Name}' is not a line of the checklist for {projection.Id}{(Nearest.To(line.Name, blank.Select(candidate => candidate.Id)) is { } near ? $"; did you mean '{near}'?" : ".")}");
            if (line.Value.ValueKind != JsonValueKind.Object)
            {
                throw new UnreadableAnswersException(file, $"the answer to '{line.Name}' is not an object with a state.");
            }

            foreach (JsonProperty member in line.Value.EnumerateObject())
            {
                if (member.Name is not ("state" or "miss" or "remark"))
                {
                    throw new UnreadableAnswersException(file, $"'{member.Name}' in the answer to '{line.Name}' is not known; an answer has state, miss and remark.");
                }
            }

            string stateText = Text(line.Value, "state", file)
                ?? throw new UnreadableAnswersException(file, $"the answer to '{line.Name}' has no state.");
            if (!States.TryGetValue(stateText, out ChecklistState state))
            {
                throw new UnreadableAnswersException(file, $"'{stateText}' in the answer to '{line.Name}' is not a state; write met, not-met, cannot-tell or not-applicable.");
            }

            string? miss = Text(line.Value, "miss", file);
            if (miss is not null && known.Misses.All(candidate => candidate.Id != miss))
            {
                throw new UnreadableAnswersException(file, known.Misses.Count == 0
                    ? $"'{line.Name}' has no ways of missing to name, so '{miss}' cannot stand there."
                    : $"'{miss}' is not a way of missing '{line.Name}'; there are {string.Join(", ", known.Misses.Select(candidate => candidate.Id))}.");
            }

            if (miss is not null && state != ChecklistState.NotMet)
            {
                throw new UnreadableAnswersException(file, $"the answer to '{line.Name}' is {stateText} and names a way of missing; only not-met has one.");
            }

            lines.Add(line.Name, new Answer(state, miss, Text(line.Value, "remark", file)));
        }

        return lines;
    }

    private static string? Text(JsonElement element, string member, string file)
    {
        if (!element.TryGetProperty(member, out JsonElement value) || value.ValueKind == JsonValueKind.Null)
        {
            return null;
        }

        if (value.ValueKind != JsonValueKind.String)
        {
            throw new UnreadableAnswersException(file, $"the member {member} is not a text.");
        }

        string text = value.GetString()!.Trim();
        return text.Length == 0 ? null : text;
    }
}
